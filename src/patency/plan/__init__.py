"""Which arrangement: plans of loads with what is proven about them, and the second, independent check of a plan."""

from patency.plan.answers.six import six_answers
from patency.plan.by_reach.improving import place_by_reach
from patency.plan.checker import check_plan, open_points
from patency.plan.checking.finding import Finding
from patency.plan.checking.rule import Rule
from patency.plan.checking.rules import RULES
from patency.plan.links.chains import Chain, find_chains
from patency.plan.links.unreachable import missing_link
from patency.plan.planner import Progress, plan_day
from patency.plan.programme_choice import Exclusion, ProgrammeChoice, programmes_for
from patency.plan.rerouting import OtherWay, other_ways
from patency.plan.staying_fed.judge import StaysFedJudge
from patency.plan.staying_fed.planning import plan_staying_fed
from patency.plan.staying_fed.remedies import Remedies, Remedy, remedies_for
from patency.plan.time_limit import TimeLimit
from patency.plan.water import FlowJudge, Judge, NoJudge, Verdict

__all__ = [
    "RULES",
    "Chain",
    "Exclusion",
    "Finding",
    "FlowJudge",
    "Judge",
    "NoJudge",
    "OtherWay",
    "ProgrammeChoice",
    "Progress",
    "Remedies",
    "Remedy",
    "Rule",
    "StaysFedJudge",
    "TimeLimit",
    "Verdict",
    "check_plan",
    "find_chains",
    "missing_link",
    "open_points",
    "other_ways",
    "place_by_reach",
    "plan_day",
    "plan_staying_fed",
    "programmes_for",
    "remedies_for",
    "six_answers",
]
