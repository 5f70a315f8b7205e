"""A small complete department, as text and as a value: the shared cast of the tests. All of it is invented.

One carrier with six ports (three hoses, two nozzles, one taper) takes both sets in one load and leaves the taper to be
capped. One of everything: a trocar sleeve over an injector nozzle, the tube of a modular forceps in a flushing sleeve,
a fixed forceps with a luer flush port, a cable for the coil rack, an optic for its holder, small parts for the pod.

Tests that need another department change the text: ``small_department({"site.yaml": "..."})`` reads the same
department with one file replaced, ``changed(SMALL_SITE, "4.2 ± 0.05 mm", "0.3 mm")`` replaces words.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from patency.catalogue import read_department

if TYPE_CHECKING:
    from collections.abc import Mapping

    from patency.catalogue import Department

SITE = """\
site: Small Infirmary (invented)
languages: [en]

connector_families:
  luer:
    name: luer lock, small bore
    bore: 2.0 mm
    source: ISO 80369-7 for the family; the bore is common practice
  carrier_thread:
    name: thread of the carrier's nozzle ports
    bore: full
    source: invented
  taper:
    name: large taper for handpieces
    bore: full
    source: invented
  tube_outside:
    name: plain outside of a tube, gripped by a flushing sleeve
    source: common practice

limits:
  load:
    drain_angle: {value: 15 °, source: common practice}
    arm_clearance: {value: 10 mm, source: common practice}
    hose_bend_ratio: {value: 4, source: common practice}
    nozzle_share_of_bore: {value: 70 %, source: common practice}
    nozzle_depth: {value: 20 mm, source: common practice}
    tipping_reserve: {value: 1.5, source: common practice}
    longest_chain: {value: 3, source: common practice}
  flow:
    least_shear: {value: 1 Pa, source: no source}
    least_flow: {value: 50 mL/min, source: no source}
    bore_tolerance: {value: 2 %, source: common practice}
    rod_tolerance: {value: 2 %, source: common practice}
    roughness: {value: 1.5 µm, source: "drawn tube, handbook value"}
    default_loss: {value: 0, source: invented}
    roughness_factor: {value: 2, source: common practice}
    loss_tolerance: {value: 30 %, source: common practice}
    pump_tolerance: {value: 5 %, source: common practice}
  cycle:
    a0_target: {value: 3000 s, source: ISO 15883-1 with the site's own choice of A0 3000}
    disinfection_band: {value: 5 K, source: ISO 15883-1}
    first_rinse_highest: {value: 45 °C, source: common practice}
    cleaning_temperature_tolerance: {value: 5 K, source: common practice}
    dose_tolerance: {value: 5 %, source: common practice}
    final_rinse_conductivity: {value: 5 µS/cm, source: common practice}
    rinse_carry_over: {value: 50 %, source: own estimate}
    fastest_heating: {value: 45 K, source: own estimate}
    last_water_share: {value: 25 %, source: common practice}
    arm_rotation_least: {value: 20 rpm, source: common practice}
    arm_rotation_highest: {value: 60 rpm, source: common practice}
    arm_readings_aside: {value: 5 %, source: common practice}
    unsteady_share: {value: 10 %, source: common practice}
    running_share: {value: 25 %, source: common practice}
    pressure_swing: {value: 3 %, source: common practice}
    false_alarms: {value: 1 %, source: common practice}
    false_rejects: {value: 0.1 %, source: common practice}
    calibration_interval: {value: 8760 h, source: common practice}
    slowest_heating: {value: 1 K, source: own estimate}
    rinse_temperature_tolerance: {value: 5 K, source: common practice}
    arm_speed_tolerance: {value: 20 %, source: own estimate}
    drying_temperature_tolerance: {value: 5 K, source: common practice}
    longest_gap: {value: 5 s, source: common practice}
    fixed_pressure_window: {value: 20 %, source: common practice}
"""

INSTRUMENTS = """\
instruments:
  sleeve11:
    name: trocar sleeve 11 mm
    family: trocar sleeve
    instructions: steel
    pieces:
      sleeve:
        name: sleeve
        placing: port
        outline:
          - {form: block, length: 30 mm, width: 24 mm}
          - {form: tube, length: 80 mm, width: 12.5 mm}
        mass: 60 g
        cups: []
        way_up: distal up
        states: {tap: open, seals: removed}
        lumens:
          bore:
            fed_by: injector nozzle
            side_holes: []
            dead_ends: []
            strainer_upstream: false
            need: {maximum_pressure: none}
            segments:
              - {shape: bore, bore: 11.5 mm, length: 110 mm}
      seal:
        name: seal
        placing: pod
        outline: [{form: block, length: 6 mm, width: 18 mm}]
        mass: 2 g
        cups: []
        way_up: lying
        states: {}
  mod5:
    name: modular forceps 5 mm
    family: forceps
    instructions: steel
    pieces:
      handle:
        name: handle
        placing: basket
        outline: [{form: ring handle, length: 140 mm, width: 80 mm}]
        mass: 90 g
        cups: []
        way_up: lying
        needs_net: false
        states: {ratchet: released}
      tube:
        name: tube
        placing: port
        outline: [{form: tube, length: 330 mm, width: 5 mm}]
        mass: 25 g
        cups: []
        way_up: distal up
        states: {}
        lumens:
          bore:
            fed_by: connection
            inlet: {family: tube_outside, gender: male, size: 5 mm}
            grip: 15 mm
            side_holes: []
            dead_ends: []
            strainer_upstream: false
            need: {maximum_pressure: none}
            segments:
              - {shape: bore, bore: 4.2 ± 0.05 mm, length: 330 mm}
      insert:
        name: jaw insert
        placing: basket
        outline:
          - {form: rod, length: 330 mm, width: 3 mm}
          - {form: jaw, length: 20 mm, width: 5 mm}
        mass: 20 g
        cups: []
        way_up: lying
        states: {jaws: open}
        needs_net: true
  fix5:
    name: fixed forceps 5 mm with flush port
    family: forceps
    instructions: steel
    pieces:
      whole:
        name: forceps
        placing: port
        outline:
          - {form: ring handle, length: 140 mm, width: 80 mm}
          - {form: tube, length: 330 mm, width: 5 mm}
          - {form: jaw, length: 20 mm, width: 5 mm}
        mass: 140 g
        cups: []
        way_up: distal up
        states: {jaws: open, ratchet: released}
        lumens:
          shaft:
            fed_by: connection
            inlet: {family: luer, gender: female}
            side_holes: []
            dead_ends: []
            strainer_upstream: false
            need: {maximum_pressure: none}
            segments:
              - {shape: annulus, outer: 3.6 mm, inner: 2.6 mm, length: 330 mm}
  cable:
    name: HF cable
    family: cable
    instructions: steel
    pieces:
      cable:
        name: cable
        placing: coil rack
        outline: [{form: coil, length: 3 m, width: 5 mm}]
        mass: 150 g
        cups: []
        way_up: coiled
        states: {}
        least_bend_radius: 40 mm
  optic:
    name: rigid optic 10 mm
    family: optic
    instructions: steel
    pieces:
      optic:
        name: optic
        placing: optic holder
        outline:
          - {form: block, length: 60 mm, width: 40 mm}
          - {form: rod, length: 250 mm, width: 10 mm}
        mass: 250 g
        cups: []
        way_up: lying
        states: {}

instructions:
  steel:
    name: steel instruments, machine cleaning
    versions:
      - version: "1"
        issued: 2025-01-10
        language: en
        source: "invented instructions for use, version 1"
        approval: {by: [K1, K2], on: 2025-02-01}
        initial_treatment: {steps: [wipe off coarse soil, keep moist]}
        preparation: {steps: [dismantle, flush every lumen]}
        cleaning:
          steps: [connect every lumen, clean in the washer-disinfector]
          highest_temperature: 95 °C
          lowest_ph: 6.5
          highest_ph: 11.5
          forbidden_agents: [bleach]
          water: utility
          final_rinse_water: critical
        disinfection: {steps: [thermal], least_a0: 3000 s, highest_temperature: 95 °C}
        drying: {steps: [dry in the machine], highest_temperature: 120 °C}
        inspection: {steps: [look into every lumen, test the function]}
        packaging: {steps: [pack with open jaws]}
        sterilization: {steps: [saturated steam 134 °C 5 min]}
        storage: {steps: [keep dry]}
        transportation: {steps: [in a closed box]}

sets:
  Morning:
    contents: {sleeve11: 1, mod5: 1, fix5: 1, cable: 1, optic: 1}
    basket_areas: 1
    soiled_side: 15 min
    clean_side: 30 min
  Noon:
    contents: {sleeve11: 1, fix5: 1}
    basket_areas: 1
    soiled_side: 8 min
    clean_side: 15 min

day:
  date: 2026-03-02
  shift_starts: 2026-03-02T11:00
  shift_ends: 2026-03-02T21:30
  waiting:
    - {set: Morning, back_at: 2026-03-02T11:30}
    - {set: Noon, back_at: 2026-03-02T12:15, washed_by: 2026-03-02T16:00}
"""

EQUIPMENT = """\
carriers:
  Wren:
    name: Wren
    width: 560 mm
    depth: 540 mm
    height: 520 mm
    mass_limit: 12 kg
    back_after_unload: 10 min
    levels:
      low: {name: lower level, height: 60 mm, arm_above: none}
      high: {name: upper level, height: 300 mm, arm_above: 520 mm}
    circuits:
      riser:
        fed_from: dock
        bore: 25 mm
        inlet: [{shape: bore, bore: 25 mm, length: 300 mm, loss: 1.1}]
      hoses:
        fed_from: riser
        branches_at: 100 mm
        inlet: []
        bore: 16 mm
    ports:
      N1: &nozzle_port
        kind: nozzle
        circuit: riser
        along: 200 mm
        level: low
        at: {x: 100 mm, y: 80 mm, z: 80 mm}
        end: {family: carrier_thread, gender: male}
        bore: 4 mm
        fitting_length: 20 mm
        clearance: 200 mm
        stand: {inclination: 90 °, support_at: 60 mm}
      N2:
        <<: *nozzle_port
        along: 280 mm
        at: {x: 160 mm, y: 80 mm, z: 80 mm}
      H1: &hose_port
        kind: hose
        circuit: hoses
        along: 50 mm
        level: low
        at: {x: 100 mm, y: 200 mm, z: 80 mm}
        end: {family: carrier_thread, gender: male}
        bore: 3 mm
        fitting_length: 20 mm
        hose:
          bore: 3 mm
          length: 200 mm
          outer: 5 mm
          end: {family: luer, gender: male}
        clearance: 420 mm
        reach: 540 mm
        stand: {inclination: 60 °, support_at: 200 mm, leans: back}
      H2:
        <<: *hose_port
        along: 100 mm
        at: {x: 160 mm, y: 200 mm, z: 80 mm}
      H3:
        <<: *hose_port
        along: 150 mm
        at: {x: 220 mm, y: 200 mm, z: 80 mm}
      T1:
        kind: taper
        circuit: riser
        along: 350 mm
        level: low
        at: {x: 220 mm, y: 80 mm, z: 80 mm}
        end: {family: taper, gender: male}
        bore: 8 mm
        fitting_length: 25 mm
        clearance: 200 mm
        stand: {inclination: 90 °, support_at: 50 mm}
    basket_areas:
      B1: {level: low, at: {x: 290 mm, y: 20 mm, z: 60 mm}, width: 260 mm, depth: 240 mm, clear_height: 180 mm}
      B2: {level: low, at: {x: 290 mm, y: 270 mm, z: 60 mm}, width: 240 mm, depth: 240 mm, clear_height: 180 mm}
    coil_places:
      C1:
        level: high
        at: {x: 400 mm, y: 400 mm, z: 320 mm}
        mandrel_diameter: 120 mm
        pitch: 8 mm
        turns: 10

accessories:
  nozzle_6:
    kind: injector nozzle
    name: injector nozzle 6 mm
    stock: 2
    near: {family: carrier_thread, gender: female}
    bore: 4 mm
    outlet: 3 mm
    outer: 6 mm
    length: 80 mm
    side_holes: []
    discharge_coefficient: 0.8
  sleeve_5:
    kind: flushing sleeve
    name: flushing sleeve for 5 mm tubes
    stock: 2
    near: {family: luer, gender: female}
    grips: {family: tube_outside, gender: female, size: 5 ± 0.5 mm}
    inner: 4.8 mm
    bore: 2.5 mm
    length: 60 mm
    least_overlap: 10 mm
    end_cap: true
  hose_cap:
    kind: cap
    name: cap for a hose
    stock: 2
    near: {family: luer, gender: female}
  nozzle_cap:
    kind: cap
    name: cap for a nozzle port
    stock: 1
    near: {family: carrier_thread, gender: female}
  taper_cap:
    kind: cap
    name: cap for the taper
    stock: 1
    near: {family: taper, gender: female}
  pod: {kind: pod, name: lidded fine basket, stock: 2, inner_width: 180 mm, inner_depth: 90 mm, inner_height: 50 mm}
  net: {kind: net, name: hold-down net, stock: 2}
  holder: {kind: optic holder, name: cushioned optic holder, stock: 1, holds_length: 420 mm, holds_width: 60 mm}
"""

MACHINES = """\
machine_kinds:
  front_loader:
    name: single-chamber washer-disinfector
    pump:
      points:
        - {flow: 0 L/min, head: 7.0 m}
        - {flow: 200 L/min, head: 6.7 m}
        - {flow: 400 L/min, head: 5.7 m}
        - {flow: 600 L/min, head: 4.0 m}
        - {flow: 800 L/min, head: 1.7 m}
      sump_level: -150 mm
      relative_speed: 1
      source: invented
    discharge: [{shape: bore, bore: 50 mm, length: 1.2 m, loss: 2}]
    dock: [{shape: bore, bore: 32 mm, length: 300 mm, loss: 1.5}]
    arms:
      lower:
        fed_from: machine
        height: -40 mm
        swept_thickness: 40 mm
        radius: 260 mm
        centre_x: 280 mm
        centre_y: 270 mm
        feed: []
        jets: {count: 10, outlet: 4 mm, discharge_coefficient: 0.8}
      upper:
        fed_from: machine
        height: 540 mm
        swept_thickness: 40 mm
        radius: 260 mm
        centre_x: 280 mm
        centre_y: 270 mm
        rotation: 30 rpm
        rotation_at: 200 mbar
        feed: []
        jets: {count: 10, outlet: 4 mm, discharge_coefficient: 0.8}
    sensors:
      T1: {quantity: temperature, place: chamber, unit: degC, uncertainty: 0.5}
      P1: {quantity: pressure, place: circulation, unit: mbar, uncertainty: 5, height: -50 mm}
      arm: {quantity: rotation, place: upper, unit: rpm, uncertainty: 1}
      conductivity: {quantity: conductivity, place: chamber, unit: uS/cm, uncertainty: 0.5}
      dose: {quantity: dosed volume, place: detergent, unit: mL, uncertainty: 2}
    chamber_width: 640 mm
    chamber_depth: 640 mm
    chamber_height: 640 mm

machines:
  Alpha:
    kind: front_loader
    docks: [Wren]
    programmes: {gentle: 60 min}
    sensor_offsets:
      P1: {value: 3, found_on: 2026-01-12, source: "commissioning report, invented"}

programmes:
  gentle:
    name: gentle, for lumens
    version: "1"
    for_lumens: true
    a0_target: 3000 s
    stages:
      - {name: first rinse, kind: flush, hold: 3 min, temperature: 20 °C, water: utility, doses: [], pump_speed: 1}
      - name: cleaning
        kind: clean
        hold: 10 min
        temperature: 55 °C
        water: utility
        doses: [{agent: mild alkaline detergent, volume: 120 mL, ph: 10.5}]
        pump_speed: 1
      - {name: rinse, kind: rinse, hold: 2 min, temperature: 25 °C, water: utility, doses: [], pump_speed: 1}
      - {name: disinfection, kind: disinfect, hold: 5 min, temperature: 90 °C, water: critical,
         doses: [], pump_speed: 1}
      - {name: drying, kind: dry, hold: 20 min, temperature: 100 °C}
"""

SMALL_SITE: Mapping[str, str] = {
    "equipment.yaml": EQUIPMENT,
    "instruments.yaml": INSTRUMENTS,
    "machines.yaml": MACHINES,
    "site.yaml": SITE,
}


def changed(texts: Mapping[str, str], words: str, instead: str) -> dict[str, str]:
    """Return the texts with words replaced that stand there exactly once."""
    found = sum(text.count(words) for text in texts.values())
    if found != 1:
        raise ValueError(f"{words!r} stands {found} times in these texts; name more of its surroundings")
    return {name: text.replace(words, instead) for name, text in texts.items()}


def small_department(replaced: Mapping[str, str] | None = None) -> Department:
    """Return the small department, with whole files replaced or added where some are given."""
    return read_department({**SMALL_SITE, **(replaced or {})})
