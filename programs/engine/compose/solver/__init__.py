"""Questions to CP-SAT: the best week there is, what to give up where none is whole, and which limits clash.

One worker, a fixed seed and a deterministic limit: the same question gets the same answer in every process. The
solver's library is large and is loaded only when a question is put; where it is not installed, ``available`` is
false and the search of ``compose.search`` stands in.
"""

from programs.engine.compose.solver.optimum import Optimum, optimum
from programs.engine.compose.solver.relax import WayOut, clashes, given_up, unfillable_sessions, ways_out
from programs.engine.compose.solver.rows import available, solver_name

__all__ = [
    "Optimum",
    "WayOut",
    "available",
    "clashes",
    "given_up",
    "optimum",
    "solver_name",
    "unfillable_sessions",
    "ways_out",
]
