"""Files broken in hundreds of ways, on the command line: status 2, one line that names the place, nothing written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner, Result

from patency.cli import main
from patency.load import write_plan
from tests.evidence.test_broken import DESCRIPTION, RECORD
from tests.flow.test_network_check import BROKEN, SOUND, broken
from tests.small_plan import SMALL_PLAN
from tests.small_site import SMALL_SITE, changed

TESTS = Path(__file__).parents[1]


def table(path: str) -> list[dict[str, str]]:
    entries: list[dict[str, str]] = yaml.safe_load((TESTS / path).read_text(encoding="utf-8"))
    return entries


CATALOGUES = table("broken/catalogues.yaml")
DESCRIPTIONS = table("evidence/broken/descriptions.yaml")
RECORDS = table("evidence/broken/records.yaml")
PLAN = write_plan(SMALL_PLAN)
# What stood in the plan, what stands there now, and the place the refusal has to name.
PLANS = [
    ('"patency-plan/1"', '"patency-plan/9"', "p.json: format: "),
    ('"starts": "2026', '"starts": "yesterday 2026', "p.json: loads[0].starts: "),
    ('"loads_at_least": 1', '"loads_at_least": "one"', "p.json: loads_at_least: "),
    ('"loads_at_least": 1,', '"loads_at_least": 1, "loads_at_least": 1,', "p.json: loads_at_least: "),
    ('"proven_fewest": true', '"proven_fewest": "perhaps"', "p.json: proven_fewest: "),
    ('"loads": 1.0', '"loads": NaN', "p.json: objective.loads: "),
    ('"way_up": "coiled"', '"way_up": "sideways"', "p.json: loads[0].pieces[6].way_up: "),
    ('"placing": "coil rack"', '"placing": "floor"', "p.json: loads[0].pieces[6].placing: "),
    ('"nozzle_depth_m": 0.02', '"nozzle_depth_m": "20 mm"', "p.json: loads[0].pieces[0].lumens[0].nozzle_depth_m: "),
    ('"tap": "open"', '"tap": "ajar"', "p.json: loads[0].pieces[0].states.tap: "),
    ('"day": "2026-03-02"', '"day": "2026-13-02"', "p.json: day: "),
    ('"site": "Small Infirmary (invented)",', "", "p.json: site: "),
    ('"site": ', '"colour": "red", "site": ', "p.json: colour: "),
    ('"site": ', '"col\\nour": "red", "site": ', "p.json: ['col\\nour']: unknown key"),
    ("{", "", "p.json:"),
    ('"objective":', '"objective" ', "p.json:"),
    (PLAN, "", "p.json:1:1: not JSON"),
    (PLAN, "[]", "p.json: "),
]
# Names that mean nothing in the department, of which a sheet or a prediction would make something wrong.
NAMES = [
    ('"carrier": "Wren"', '"carrier": "Robin"', "p.json: loads[0].carrier: "),
    ('"machine_kind": "front_loader"', '"machine_kind": "tub"', "p.json: loads[0].machine_kind: "),
    ('"machine": "Alpha"', '"machine": "Omega"', "p.json: loads[0].machine: "),
    ('"programme": "gentle"', '"programme": "rough"', "p.json: loads[0].programme: "),
    ('"set": "Noon"', '"set": "Night"', "p.json: loads[0].pieces[8].set: "),
    ('"piece": "mod5/1/insert"', '"piece": "mod5/2/insert"', "p.json: loads[0].pieces[5].piece: "),
    ('"lumen": "shaft"', '"lumen": "shift"', "p.json: loads[0].pieces[2].lumens[0].lumen: "),
    ('"sleeve_5"', '"sleeve_9"', "p.json: loads[0].pieces[1].lumens[0].chain[0]: "),
    ('"position": "C1"', '"position": "C9"', "p.json: loads[0].pieces[6].position: "),
    ('"port": "T1"', '"port": "T9"', "p.json: loads[0].capped_ports[0].port: "),
    ('"cap": "taper_cap"', '"cap": "lid"', "p.json: loads[0].capped_ports[0].cap: "),
]
# Texts that are no network, and networks that are sound and cannot be solved.
NETWORK = json.dumps(SOUND)
TEXTS = [
    ("", "n.json:1:1: not JSON"),
    ("{", "n.json:1:2: not JSON"),
    ("[" * 100_000, "n.json: JSON that cannot be read"),
    ("[]", "n.json: [] (expected: a mapping of keys to values)"),
    (NETWORK.replace('"water":', '"water": 0, "water":'), "n.json: water: the key stands twice"),
    (NETWORK.replace('"temperature_c"', '"c": 1, "temperature\\n_c"'), "n.json: water.temperature_c: missing"),
    (NETWORK.replace('"elevation_m": 0.0', '"elevation_m": -1e6'), "n.json: pump: beyond its run-out"),
    (NETWORK.replace('"diameter_m": 0.05', '"diameter_m": 1e40'), "n.json: network: a size or a property too extreme"),
]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    for name, text in SMALL_SITE.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Work in an empty folder, so that files have short names and everything written is seen."""
    monkeypatch.chdir(tmp_path)


def written() -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in Path().rglob("*") if path.is_file()}


def refused(*words: str | Path) -> str:
    """Call; see status 2, nothing on standard output and no file changed; return what standard error says."""
    before = written()
    result: Result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert written() == before
    assert not Path("out").exists()
    return result.stderr


def assert_one_line(said: str, says: str) -> None:
    assert said.count("\n") == 1, said
    assert says in said


def test_more_than_two_hundred_broken_files_are_seen() -> None:
    networks = len(BROKEN) + len(TEXTS)
    plans = len(PLANS) + len(NAMES)
    assert min(networks, plans, len(CATALOGUES[::2]), len(DESCRIPTIONS), len(RECORDS)) >= 12
    assert networks + plans + len(CATALOGUES[::2]) + len(DESCRIPTIONS) + len(RECORDS) > 200


@pytest.mark.parametrize("one", CATALOGUES[::2], ids=lambda one: one["what"])
def test_a_broken_catalogue_plans_nothing(one: dict[str, str]) -> None:
    Path("site").mkdir()
    for name, text in changed(SMALL_SITE, one["was"], one["now"]).items():
        Path("site", name).write_text(text, encoding="utf-8")
    said = refused("plan", "site", "--out", "out", "--json")
    assert said.count("\n") == 1
    assert said.startswith(one["says"].removesuffix("…"))


@pytest.mark.parametrize(("was", "now", "place"), PLANS)
def test_a_broken_plan_is_neither_printed_nor_checked_nor_judged_by(was: str, now: str, place: str, site: Path) -> None:
    assert was in PLAN
    Path("p.json").write_text(PLAN.replace(was, now, 1), encoding="utf-8")
    Path("r.csv").write_text(RECORD, encoding="utf-8")
    Path("d.yaml").write_text(DESCRIPTION, encoding="utf-8")
    judging = ("evidence", "judge", "r.csv", "--description", "d.yaml", "--load", "L1", "--plan", "p.json")
    for words in (("sheet", "p.json", "--out", "out"), ("check", "p.json"), (*judging, "--out", "out")):
        assert_one_line(refused(*words, "--site", site, "--json"), place)


@pytest.mark.parametrize(("was", "now", "place"), NAMES)
def test_a_plan_with_a_name_nobody_knows_is_neither_printed_nor_judged_by(
    was: str, now: str, place: str, site: Path
) -> None:
    assert was in PLAN
    Path("p.json").write_text(PLAN.replace(was, now, 1), encoding="utf-8")
    Path("r.csv").write_text(RECORD, encoding="utf-8")
    Path("d.yaml").write_text(DESCRIPTION, encoding="utf-8")
    judging = ("evidence", "judge", "r.csv", "--description", "d.yaml", "--load", "L1", "--plan", "p.json")
    for words in (("sheet", "p.json", "--out", "out"), (*judging, "--out", "out")):
        assert place in refused(*words, "--site", site, "--json")


@pytest.mark.parametrize(("name", "place", "value", "says"), BROKEN, ids=[row[0] for row in BROKEN])
def test_a_broken_network_is_not_solved(name: str, place: list[str | int], value: object, says: str) -> None:
    del name
    Path("n.json").write_text(json.dumps(broken(place, value)), encoding="utf-8")
    said = refused("flow", "n.json", "--json")
    assert says in said
    assert all(line.startswith("n.json: ") for line in said.splitlines())


@pytest.mark.parametrize(("text", "says"), TEXTS, ids=range(len(TEXTS)))
def test_what_is_no_network_or_cannot_be_solved_is_refused(text: str, says: str) -> None:
    Path("n.json").write_text(text, encoding="utf-8")
    assert says in refused("flow", "n.json", "--json")


@pytest.mark.parametrize("one", DESCRIPTIONS, ids=lambda one: one["what"])
def test_a_broken_description_judges_nothing(one: dict[str, str]) -> None:
    Path("r.csv").write_text(RECORD, encoding="utf-8")
    Path("d.yaml").write_text(DESCRIPTION.replace(one["was"], one["now"], 1), encoding="utf-8")
    said = refused("evidence", "judge", "r.csv", "--description", "d.yaml", "--json")
    assert said.splitlines()[0] == one["says"]


@pytest.mark.parametrize("one", RECORDS, ids=lambda one: one["what"])
def test_a_broken_record_is_not_judged(one: dict[str, str]) -> None:
    Path("r.csv").write_text(RECORD.replace(one["was"], one["now"], 1), encoding="utf-8")
    Path("d.yaml").write_text(DESCRIPTION, encoding="utf-8")
    assert refused("evidence", "judge", "r.csv", "--description", "d.yaml", "--json") == one["says"] + "\n"


def test_a_record_that_cannot_be_read_leaves_no_load_file(site: Path) -> None:
    Path("p.json").write_text(PLAN, encoding="utf-8")
    Path("r.csv").write_text(RECORD.replace("20.5", "2O.5", 1), encoding="utf-8")
    Path("d.yaml").write_text(DESCRIPTION, encoding="utf-8")
    of_load = ("--site", site, "--plan", "p.json", "--load", "L1", "--out", "out")
    said = refused("evidence", "judge", "r.csv", "--description", "d.yaml", *of_load, "--json")
    assert_one_line(said, "r.csv, line 3, column T1")


@pytest.mark.parametrize("command", ["flow", "check", "sheet", "judge", "plan"])
def test_a_file_that_is_not_there_or_not_utf_8_is_refused(command: str, site: Path) -> None:
    Path("d.yaml").write_text(DESCRIPTION, encoding="utf-8")
    Path("bytes").write_bytes(b"\xff\xfe\x00")
    words: dict[str, tuple[str | Path, ...]] = {
        "flow": ("flow", "bytes"),
        "check": ("check", "bytes", "--site", site),
        "sheet": ("sheet", "bytes", "--site", site, "--out", "out"),
        "judge": ("evidence", "judge", "bytes", "--description", "d.yaml"),
        "plan": ("plan", "bytes", "--out", "out"),
    }
    for name in ("bytes", "nowhere"):
        said = refused(*(name if word == "bytes" else word for word in words[command]), "--json")
        assert_one_line(said, f"{name}: ")
