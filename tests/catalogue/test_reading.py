"""A department is read from several files at once, as it stands there, with every fault in one go."""

from __future__ import annotations

import random

import pytest
import yaml

from patency.catalogue import Department, read_department, read_nodes, read_with_places, write_department
from patency.demo import larkmere_texts
from patency.errors import InputErrors
from patency.quantities import Toleranced
from tests.small_site import SMALL_SITE, changed, small_department


def faults(texts: dict[str, str]) -> list[str]:
    with pytest.raises(InputErrors) as refusal:
        read_department(texts)
    return [fault.line for fault in refusal.value.faults]


def test_the_small_department_is_read_as_it_is_validated() -> None:
    assert read_department(SMALL_SITE) == small_department()


def test_the_order_of_the_files_changes_nothing() -> None:
    assert read_department(dict(reversed(list(SMALL_SITE.items())))) == read_department(SMALL_SITE)


def test_all_in_one_file_is_the_same_department() -> None:
    assert read_department({"all.yaml": "\n".join(SMALL_SITE.values())}) == small_department()


def test_a_value_knows_its_file_and_line() -> None:
    reading = read_with_places(SMALL_SITE)
    assert reading.place(("site",)) == "site.yaml:1"
    assert reading.place(("sets", "Noon")).startswith("instruments.yaml:")
    assert reading.place(("sets", "Noon", "contents", "no such")).startswith("instruments.yaml:")


@pytest.mark.parametrize(
    "department", [small_department(), read_department(larkmere_texts())], ids=["small", "Larkmere"]
)
def test_what_is_written_is_read_back_equal(department: Department) -> None:
    texts = write_department(department)
    assert read_department(texts) == department
    assert write_department(read_department(texts)) == texts


def spread(seed: int) -> dict[str, str]:
    """Write the small department with its entries spread over three files by chance."""
    chance = random.Random(seed)
    files: list[dict[str, dict[str, object] | object]] = [{}, {}, {}]
    for name, text in SMALL_SITE.items():
        node, _ = read_nodes(name, text)
        for top, inner in node.mapping.items() if node else ():
            if not inner.mapping or top == "day":
                chance.choice(files)[top] = inner.plain()
            for key, entry in inner.mapping.items() if top != "day" else ():
                chosen = chance.choice(files).setdefault(top, {})
                assert isinstance(chosen, dict)
                chosen[key] = entry.plain()
    return {f"{n}.yaml": yaml.safe_dump(file, allow_unicode=True) for n, file in enumerate(files)}


@pytest.mark.parametrize("seed", range(20))
def test_a_department_may_be_spread_over_files_in_any_way(seed: int) -> None:
    assert read_department(spread(seed)) == small_department()


def test_values_come_in_the_units_used_inside() -> None:
    department = small_department()
    carrier = department.carriers["Wren"]
    assert department.instruments["mod5"].pieces["tube"].lumens["bore"].segments[0].length_m == Toleranced(0.33)
    assert (carrier.mass_limit_kg, carrier.back_after_unload_s) == (12.0, 600.0)
    assert carrier.ports["H2"].stand.inclination_deg == 60.0
    assert department.limits.load.nozzle_share_of_bore is not None
    assert department.limits.load.nozzle_share_of_bore.value == pytest.approx(0.7)
    assert department.machine_kinds["front_loader"].pump.points[1].flow_m3_s == pytest.approx(200 / 60000)


def test_names_keep_the_order_of_the_file() -> None:
    assert list(small_department().carriers["Wren"].ports) == ["N1", "N2", "H1", "H2", "H3", "T1"]


def test_the_free_end_of_a_port_is_that_of_its_hose() -> None:
    ports = small_department().carriers["Wren"].ports
    assert [ports[key].free_end.family for key in ("H1", "N1", "T1")] == ["luer", "carrier_thread", "taper"]


def test_limits_may_be_spread_group_by_group_and_limit_by_limit() -> None:
    more = {"more.yaml": "limits: {flow: {least_velocity: {value: 0.1 m/s, source: common practice}}}"}
    flow = small_department(more).limits.flow
    assert flow.least_velocity is not None
    assert flow.least_shear is not None


def test_an_entry_that_stands_twice_names_both_places() -> None:
    texts = {
        **SMALL_SITE,
        "more.yaml": "sets:\n  Noon: {contents: {fix5: 1}, basket_areas: 1}\n",
        "z.yaml": "limits:\n  flow:\n    least_shear: {value: 2 Pa, source: own}\n",
    }
    assert faults(texts) == [
        "more.yaml:2: sets.Noon: stands a second time, first at instruments.yaml:167 (expected: every entry once)",
        "z.yaml:3: limits.flow.least_shear: stands a second time, first at site.yaml:31 (expected: every entry once)",
    ]


def test_every_fault_of_every_file_comes_at_once_in_the_order_of_files_and_lines() -> None:
    texts = changed(SMALL_SITE, "bore: 4.2 ± 0.05 mm", "bore: 4.2")
    texts = changed(texts, "contents: {sleeve11: 1, fix5: 1}", "contents: {sleeve12: 1, fix5: 0}")
    texts = changed(texts, "kind: front_loader", "kind: top_loader")
    texts = changed(texts, "drain_angle: {value: 15 °,", "drain_angel: {value: 15 °,")
    found = faults(texts)
    assert [line.split(": ")[:2] for line in found] == [
        ["instruments.yaml:66", "instruments.mod5.pieces.tube.lumens.bore.segments[0].bore"],
        ["instruments.yaml:168", "sets.Noon.contents.fix5"],
        ["instruments.yaml:168", "sets.Noon.contents.sleeve12"],
        ["machines.yaml:49", "machines.Alpha.kind"],
        ["site.yaml:23", "limits.load.drain_angel"],
    ]


def test_a_fault_inside_an_entry_does_not_make_references_to_it_wrong() -> None:
    broken = changed(SMALL_SITE, "      hoses:\n        fed_from: riser", "      hoses:\n        fed_form: riser")
    assert [line.split(": ")[1] for line in faults(broken)] == [
        "carriers.Wren.circuits.hoses.fed_from",
        "carriers.Wren.circuits.hoses.fed_form",
    ]


def test_a_file_that_is_no_yaml_is_not_blamed_for_what_it_may_hold() -> None:
    broken = {**SMALL_SITE, "site.yaml": "site: [", "more.yaml": "sets: {Late: {contents: {fix5: 0}, basket_areas: 1}}"}
    found = faults(broken)
    assert [line.split(": ")[0] for line in found] == ["more.yaml:1", "site.yaml:1"]


def test_a_file_without_a_mapping_at_the_top_is_refused() -> None:
    assert faults({**SMALL_SITE, "list.yaml": "- a\n"}) == [
        "list.yaml:1: no mapping at the top (expected: keys such as instruments: or sets:)"
    ]


def test_nothing_at_all_is_no_department() -> None:
    assert [line.split(" (")[0] for line in faults({})] == [
        "department:1: site: missing",
        "department:1: languages: missing",
    ]


def test_the_smallest_department_has_a_name_and_a_language() -> None:
    department = read_department({"a.yaml": "site: Here\nlanguages: [en]", "empty.yaml": "# nothing yet\n"})
    assert (department.site, department.languages, department.sets) == ("Here", ["en"], {})


def test_a_name_of_a_kind_that_is_not_described_at_all_gets_no_suggestion_from_elsewhere() -> None:
    texts = {name: text for name, text in SMALL_SITE.items() if name != "site.yaml"}
    texts["site.yaml"] = "site: Small Infirmary (invented)\nlanguages: [en]\n"
    with pytest.raises(InputErrors) as refused:
        read_department(texts)
    families = [fault for fault in refused.value.faults if fault.where.endswith("inlet.family")]
    assert families
    assert {(fault.what, fault.expected) for fault in families} == {
        ("'luer' does not exist", "a connector family"),
        ("'tube_outside' does not exist", "a connector family"),
    }
