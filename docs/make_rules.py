"""Writes the page on checking a plan from the program's list of rules: ``python docs/make_rules.py``."""

from __future__ import annotations

from pathlib import Path

from patency.plan import RULES

PAGE = Path(__file__).with_name("checking-a-plan.md")

HEAD = """\
# Checking a plan

```console
$ patency check plan.json --site my-department
```

reads a plan and a department's folder and goes through every rule below once more. It shares no code with what makes
plans, nor with the geometry they are made with: the rules are written a second time, plainly, from the catalogue
alone. Two implementations that agree are less likely to be wrong in the same way. Only two things are common ground:
how files are read, and the flow calculation, which is checked against outside sources and computed anew here; nothing
is taken from the numbers in the plan. A plan that somebody changed by hand, or that was made before the catalogue
changed, is held against the same rules.

Each finding is one line: where, what is wrong, which rule. The command ends with 0 when no rule is broken, with 1 when
one is, with 2 when the plan or the department cannot be used; `--json` gives the same as data
(`format: patency-plan-check/1`, with `findings` and `open_points`).

Where a datum is missing, a rule cannot be decided. That is no finding and is not hidden: the line begins with
`open:`, and it counts as no until a person with the authority decides. Instructions for use are read more strictly:
a temperature, pH or agent they say nothing about is not allowed, and where they state no quality of water, the purest
counts as asked for.

A plan that breaks no rule is planned as the catalogue asks. Whether the load is put together that way only a person
at the bench can see, and whether the cycle reached what it should only its record and the eye can tell.

## The rules

This table is made from the program's own list by `docs/make_rules.py`. For each rule at least one plan is broken on
purpose in `tests/plan/`, and the check has to name exactly that rule.

| rule | what it asks for |
| --- | --- |
"""

TAIL = """
## How the geometry is judged

* **Room.** A piece stands at the port its `position` names. Behind a hose its foot is at the port; rigid links lift it
  by their length, of which the depth of an injector nozzle inside the piece is taken off. Where the port states its
  reach, the piece with what lifts it must not be longer; where it states none, the highest corner of the drawn
  outline must not be higher than the clearance.
* **Arms.** The side to which a piece leans is planned and not relied on, since a piece behind a hose can turn: an arm
  counts wherever the piece could lean under it.
* **Room to stand.** A pod stands in a basket area with its sides along those of the area, turned a quarter if need be.
  Holders have no stated outside: the optic has to lie in the area by itself. The floors of all pods and optics
  together are no more than that of the area; what lies loose is left to the number of areas the set asks for.
* **Places in baskets.** A piece covers the floor with each body of its outline as long and wide as stated, jaws as
  far as they open, rings with their round ends; a pod with its inside. Less than 20 mm² in common is taken for
  rounding. A piece whose shape comes from a mesh file can be slimmer than its outline: that leaves the rule open.
  What the plan leaves open is not looked at.
* **Drain angle.** Bores slope with the axis of the piece. A hollow that opens to the side is turned down as far as
  the axis allows. What lies has no slope.
* **Tipping.** About the support, what lies behind it has to hold what leans over beyond it. How the mass is spread is
  not in the catalogue: it goes once with the width of the drawn bodies and once with its square, and the worse
  decides. An assumption without source; the pull of hoses and jets is left to the site's reserve.
* **Hoses.** All hoses in line count as one arc of a circle between port and proximal end of the piece, the gentlest
  curve of their length. A hose that passes can reach; whether it lies without a kink only the eye can tell.
* **Stock.** What a load takes is in use from its start until its carrier is back from unloading.
"""


def page() -> str:
    """Return the page's text."""
    return HEAD + "".join(f"| {rule.name} | {rule.meaning} |\n" for rule in RULES) + TAIL


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
