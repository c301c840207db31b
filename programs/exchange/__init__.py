"""Library and templates as files: written losslessly, read within limits, imported only as previewed.

``cells``, ``kinds``, ``lists``, ``fields``, ``sheets``, ``documents``, ``outline_documents`` and ``checks`` read and
write without a database; ``library``, ``outlines`` and ``uploads`` hold what is read against what a practice has. What
is wrong is a code with parameters; ``words`` has the sentences.
"""
