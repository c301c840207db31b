"""Library and templates as files: written losslessly, read within limits, imported only as previewed.

``cells``, ``kinds``, ``fields``, ``sheets``, ``documents`` and ``checks`` read and write without a database;
``library``, ``templates`` and ``uploads`` hold what is read against what a practice has. What is wrong is a code with
parameters; ``words`` has the sentences.
"""
