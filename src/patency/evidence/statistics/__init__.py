"""What many results and many cycles tell together: control charts, drift, inspection by risk, patterns of wet packs."""

from patency.evidence.statistics.charts import (
    Chart,
    ChartKind,
    Inspected,
    Signal,
    counts_chart,
    ewma_chart,
    individuals_chart,
)
from patency.evidence.statistics.drift import JudgedCycle, drift_charts, read_judged
from patency.evidence.statistics.grouped import GroupChart, chart_results, charts_document
from patency.evidence.statistics.inspection import (
    InspectionDay,
    InspectionPlan,
    acceptance_chance,
    inspection_document,
    pieces_to_inspect,
    plan_inspection,
    read_inspection,
)
from patency.evidence.statistics.results import GROUPS, ChartSettings, Result, read_moment, read_results, read_settings
from patency.evidence.statistics.run_lengths import (
    CountSum,
    count_sum_for,
    ewma_run_length,
    ewma_width,
    individuals_run_length,
    individuals_width,
)
from patency.evidence.statistics.wet_packs import Pack, WetPattern, exact_excess, read_packs, wet_document, wet_patterns

__all__ = [
    "GROUPS",
    "Chart",
    "ChartKind",
    "ChartSettings",
    "CountSum",
    "GroupChart",
    "Inspected",
    "InspectionDay",
    "InspectionPlan",
    "JudgedCycle",
    "Pack",
    "Result",
    "Signal",
    "WetPattern",
    "acceptance_chance",
    "chart_results",
    "charts_document",
    "count_sum_for",
    "counts_chart",
    "drift_charts",
    "ewma_chart",
    "ewma_run_length",
    "ewma_width",
    "exact_excess",
    "individuals_chart",
    "individuals_run_length",
    "individuals_width",
    "inspection_document",
    "pieces_to_inspect",
    "plan_inspection",
    "read_inspection",
    "read_judged",
    "read_moment",
    "read_packs",
    "read_results",
    "read_settings",
    "wet_document",
    "wet_patterns",
]
