"""The whole way, from one design file to what every seat hears, why, and what would cure it."""

from forehear.spine.compare import Comparison, ComparisonRow, compare
from forehear.spine.export import as_plain_data, comparison_as_plain_data
from forehear.spine.prediction import Prediction
from forehear.spine.run import SolverChoice, one_solver, predict

__all__ = [
    "Comparison",
    "ComparisonRow",
    "Prediction",
    "SolverChoice",
    "as_plain_data",
    "compare",
    "comparison_as_plain_data",
    "one_solver",
    "predict",
]
