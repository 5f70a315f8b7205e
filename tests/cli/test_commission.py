"""``patency commission``: from a description to a fit in force, and what each command says to people and programs."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from patency.cli import main
from patency.steps import read_site
from tests.flow.commissioning.bench_cases import MEASURED
from tests.flow.commissioning.test_fitting import filled
from tests.small_site import SMALL_SITE


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """The folder of the small department."""
    folder = tmp_path / "site"
    folder.mkdir()
    for name, text in SMALL_SITE.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def run(*words: object) -> Result:
    """Call the program."""
    return CliRunner().invoke(main, ["commission", *map(str, words)])


def written(tmp_path: Path, text: str) -> Path:
    """Write measurements beside the site's folder."""
    path = tmp_path / "bench.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_proposed_readings_can_be_printed_and_read_back(site: Path, tmp_path: Path) -> None:
    out = tmp_path / "new" / "bench.yaml"
    asked = ("--carrier", "Wren", "--machine-kind", "front_loader", "--gauge", "circulation", "--gauge", "hoses")
    proposed = run("propose", site, *asked, "--readings", 6, "--meter", "--best-at", "variances", "--out", out)
    assert proposed.exit_code == 0, proposed.output
    assert proposed.stdout.splitlines()[0].startswith("1. ")
    assert "what stays in doubt, before and after all readings:" in proposed.stdout
    assert proposed.stdout.splitlines()[-1] == str(out)
    pdf = tmp_path / "form.pdf"
    printed = run("form", site, out, "--out", pdf)
    assert (printed.exit_code, printed.stdout.strip()) == (0, str(pdf))
    assert pdf.read_bytes()[:5] == b"%PDF-"
    nothing = run("fit", site, out, "--by", "J. Miller")
    assert (nothing.exit_code, nothing.stdout) == (2, "")
    assert nothing.stderr.strip() == "readings: nothing was read (expected: at least one reading with its value)"


def test_programs_get_the_proposal_as_one_object(site: Path) -> None:
    result = run("propose", site, "--carrier", "Wren", "--machine-kind", "front_loader", "--readings", 3, "--json")
    data = json.loads(result.stdout)
    assert data["format"] == "patency-proposal/1"
    assert len(data["lessons"]) == len(data["measurements"]["readings"]) == 3
    assert data["measurements"]["instruments"]["gauge"]["source"] == "the machine's own sensor"
    assert "meter" not in data["measurements"]["instruments"]
    assert data["written"] == []


def test_a_fit_that_is_kept_is_in_force_and_the_next_follows_it(site: Path, tmp_path: Path) -> None:
    bench = written(tmp_path, filled({"injector nozzle 6 mm": 1.2, "hoses of 3 mm": 1.1}))
    before = sorted(site.iterdir())
    looked = run("fit", site, bench, "--by", "J. Miller", "--on", "2026-03-02")
    assert looked.exit_code == 0, looked.output
    assert sorted(site.iterdir()) == before
    plot = tmp_path / "plot.svg"
    kept = run("fit", site, bench, "--by", "J. Miller", "--on", "2026-03-02", "--keep", "--plot", plot, "--json")
    data = json.loads(kept.stdout)
    file = site / "commissioned-wren-front-loader-1.yaml"
    assert data["written"] == [str(file), str(plot)]
    assert plot.read_text(encoding="utf-8").startswith("<svg")
    (entry,) = read_site(site).department.commissioned.values()
    assert entry.id == data["fit"]["id"]
    assert (entry.number, entry.by, len(set(entry.readings))) == (1, "J. Miller", 8)
    assert entry.source == "8 readings of 2026-03-02"
    assert 1.1 < entry.factors["injector nozzle 6 mm"].factor < 1.3
    checked = CliRunner().invoke(main, ["site", "check", str(site)])
    assert (
        f"Wren in front_loader: fit 1 of 2026-03-02 by J. Miller, 8 readings of 2026-03-02, id {entry.id[:12]}"
        in checked.stdout
    )
    later_on = filled({"injector nozzle 6 mm": 1.2, "hoses of 3 mm": 1.1}).replace("2026-03-02", "2026-06-02")
    again = run("fit", site, written(tmp_path, later_on), "--by", "K. Jones", "--keep")
    assert again.exit_code == 0, again.output
    assert "after fit 1" in again.stdout
    assert [fit.number for fit in read_site(site).department.commissioned.values()] == [1, 2]


def test_readings_are_counted_once(site: Path, tmp_path: Path) -> None:
    bench = written(tmp_path, filled({}))
    assert run("fit", site, bench, "--by", "J. Miller", "--keep").exit_code == 0
    again = run("fit", site, bench, "--by", "J. Miller", "--keep")
    assert (again.exit_code, again.stdout) == (2, "")
    assert again.stderr == "readings: 8 of 8 are of those that fit 1 was made from (expected: readings made since)\n"
    assert [fit.number for fit in read_site(site).department.commissioned.values()] == [1]


def test_the_readings_of_a_table_count_in_place_of_those_in_the_file(site: Path, tmp_path: Path) -> None:
    bench = written(tmp_path, MEASURED)
    table = tmp_path / "readings.csv"
    table.write_text("reading,volume,time,pressure\n1,2 L,52.7 s,\n2,,,634 mbar\n", encoding="utf-8")
    result = run("fit", site, bench, "--csv", table, "--by", "J. Miller", "--json")
    assert result.exit_code == 0, result.output
    assert [one["at"] for one in json.loads(result.stdout)["readings"]] == ["H1", "circulation"]
    table.write_text("reading,volume,time\n1,2 L,soon\n", encoding="utf-8")
    refused = run("fit", site, bench, "--csv", table, "--by", "J. Miller")
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert len(refused.stderr.splitlines()) == 1
    assert refused.stderr.startswith(f"{table}:2: time: 'soon' is not a quantity")


def test_a_reading_that_stands_out_ends_with_one(site: Path, tmp_path: Path) -> None:
    wrong = filled({}).replace("at: H1, volume: 2 L", "at: H1, volume: 4 L", 1)
    result = run("fit", site, written(tmp_path, wrong), "--by", "J. Miller")
    assert result.exit_code == 1
    assert "stands out: look at it again" in result.stdout


def later(tmp_path: Path, shares: list[float]) -> Path:
    """Readings of H1 in set-up A, one a day, each giving a share of the described flow."""
    first = next(line for line in filled({}).splitlines() if "setup: A" in line and "at: H1" in line)
    seconds = float(first.split("time: ")[1].split(" s")[0])
    rows = "".join(f"1,2 L,{seconds / share:.3f} s,2026-04-{day:02d}\n" for day, share in enumerate(shares, start=1))
    table = tmp_path / "later.csv"
    table.write_text("reading,volume,time,on\n" + rows, encoding="utf-8")
    return table


def test_a_port_that_clogs_is_flagged_and_ends_with_one(site: Path, tmp_path: Path) -> None:
    bench = written(tmp_path, filled({}))
    calm = later(tmp_path, [1.0] * 12)
    early = run("watch", site, bench, "--csv", calm)
    assert (early.exit_code, early.stdout) == (2, "")
    assert "nothing was commissioned yet" in early.stderr
    assert run("fit", site, bench, "--by", "J. Miller", "--keep").exit_code == 0
    steady = run("watch", site, bench, "--csv", calm)
    assert steady.exit_code == 0, steady.output
    assert steady.stdout.strip().endswith("as it was")
    clogging = later(tmp_path, [1.0] * 8 + [1.0 - 0.01 * day for day in range(1, 17)])
    flagged = run("watch", site, bench, "--csv", clogging)
    assert flagged.exit_code == 1
    assert "A, port H1: 24 readings" in flagged.stdout
    assert "gives less and less since about 2026-04-" in flagged.stdout
    data = json.loads(run("watch", site, bench, "--csv", clogging, "--false-alarm-in", 100, "--json").stdout)
    assert data["false_alarm_in"] == 100
    assert data["ports"][0]["flagged_on"] > data["ports"][0]["since"]
    assert len(data["ports"][0]["sums"]) == 24


def test_readings_of_the_fit_itself_are_not_taken_for_new_ones(site: Path, tmp_path: Path) -> None:
    bench = written(tmp_path, filled({}))
    assert run("fit", site, bench, "--by", "J. Miller", "--keep").exit_code == 0
    nothing_new = run("watch", site, bench)
    assert (nothing_new.exit_code, nothing_new.stdout) == (2, "")
    said = "readings: left out: 8 of 8 readings, that fit 1 was made from (expected: bucket readings made since)\n"
    assert nothing_new.stderr == said
    (own,) = (one for one in filled({}).splitlines() if "setup: A" in one and "at: H1" in one)
    seconds = float(own.split("time: ")[1].split(" s")[0])
    table = later(tmp_path, [0.99] * 3)
    alone = json.loads(run("watch", site, bench, "--csv", table, "--json").stdout)
    assert alone["left_out"] == ""
    with table.open("a", encoding="utf-8") as file:  # the fit's own reading, its time written in minutes
        file.write(f"1,2000 mL,{seconds / 60.0:.12f} min,2026-03-02\n")
    mixed = run("watch", site, bench, "--csv", table, "--json")
    data = json.loads(mixed.stdout)
    assert data["left_out"] == "1 of 4 readings, that fit 1 was made from"
    assert data["ports"] == alone["ports"]
    words = run("watch", site, bench, "--csv", table).stdout.splitlines()
    assert words[0] == "left out: 1 of 4 readings, that fit 1 was made from"
    assert "3 readings" in words[1]
    again = run("fit", site, bench, "--csv", table, "--by", "J. Miller", "--keep")
    assert (again.exit_code, again.stdout) == (2, "")
    assert again.stderr == "readings: 1 of 4 are of those that fit 1 was made from (expected: readings made since)\n"


def test_a_watch_without_any_bucket_is_refused(site: Path, tmp_path: Path) -> None:
    bench = written(tmp_path, filled({}))
    assert run("fit", site, bench, "--by", "J. Miller", "--keep").exit_code == 0
    table = tmp_path / "gauge.csv"
    table.write_text("reading,pressure,on\n2,630 mbar,2026-04-01\n", encoding="utf-8")
    result = run("watch", site, bench, "--csv", table)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == "readings: none of a bucket (expected: bucket readings made since)\n"


@pytest.mark.parametrize("by", ["", " ", "J. Miller ", "J.\nMiller", "J" * 121])
def test_a_fit_nobody_answers_for_is_refused(site: Path, tmp_path: Path, by: str) -> None:
    result = run("fit", site, written(tmp_path, filled({})), "--by", by, "--keep")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.startswith("by: ")
    assert len(result.stderr.splitlines()) == 1
    assert not list(site.glob("commissioned*"))


@pytest.mark.parametrize("temperature", ["101", "-1", "nan", "inf"])
def test_water_that_is_not_liquid_is_refused(site: Path, temperature: str) -> None:
    asked = ("--carrier", "Wren", "--machine-kind", "front_loader", f"--temperature={temperature}")
    result = run("propose", site, *asked)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.endswith("°C (expected: liquid water, 0 to 100 °C)\n")


def test_a_sensor_without_uncertainty_leaves_the_assumption_standing(site: Path) -> None:
    for uncertainty in ("0", "null"):
        text = SMALL_SITE["machines.yaml"].replace(
            "unit: mbar, uncertainty: 5", f"unit: mbar, uncertainty: {uncertainty}"
        )
        (site / "machines.yaml").write_text(text, encoding="utf-8")
        result = run("propose", site, "--carrier", "Wren", "--machine-kind", "front_loader", "--readings", 2, "--json")
        gauge = json.loads(result.stdout)["measurements"]["instruments"]["gauge"]
        assert gauge["source"].startswith("assumption")


def test_measurements_of_another_site_are_refused(site: Path, tmp_path: Path) -> None:
    bench = written(tmp_path, filled({}).replace("Small Infirmary", "Other Infirmary"))
    result = run("fit", site, bench, "--by", "J. Miller")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "measurements of 'Other Infirmary (invented)' (expected: of 'Small Infirmary (invented)')" in result.stderr


def test_a_plan_says_with_which_fit_it_was_made_and_the_check_when_another_is_in_force(
    site: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    bench = written(tmp_path, filled({}))
    planned = CliRunner().invoke(main, ["plan", str(site), "--out", str(out), "--seconds", "5", "--json"])
    assert json.loads(planned.stdout)["commissioned"] == {}
    run("fit", site, bench, "--by", "J. Miller", "--keep")
    (entry,) = read_site(site).department.commissioned.values()
    checked = CliRunner().invoke(main, ["check", str(out / "plan.json"), "--site", str(site)])
    assert f"planned as described; its flow is computed now with fit {entry.id[:12]}" in checked.stdout
    again = CliRunner().invoke(main, ["plan", str(site), "--out", str(out), "--seconds", "5", "--json"])
    loads = json.loads(again.stdout)
    assert loads["commissioned"] == {load["id"]: entry.id for load in loads["loads"]}
    checked = CliRunner().invoke(main, ["check", str(out / "plan.json"), "--site", str(site)])
    assert "planned" not in checked.stdout


def test_readings_of_a_port_that_clogs_make_no_fit_unless_somebody_says_why(site: Path, tmp_path: Path) -> None:
    bench = written(tmp_path, filled({}))
    clogging = later(tmp_path, [1.0] * 8 + [1.0 - 0.01 * day for day in range(1, 17)])
    asked = ("fit", site, bench, "--csv", clogging, "--by", "J. Miller")
    refused = run(*asked)
    assert (refused.exit_code, refused.stdout) == (2, "")
    (line,) = refused.stderr.splitlines()
    assert line.startswith("drift: A, port H1 gives less and less since about 2026-04-")
    assert line.endswith("(expected: readings without it, or --despite-drift with the reason)")
    taken = run(*asked, "--despite-drift", "as it is until it is cleaned")
    assert "although A, port H1 gives less and less since about 2026-04-" in taken.stdout
