"""The catalogue's numbers against published figures, named beside each."""

from __future__ import annotations

import math

import pytest
from every import every

from advisor.catalog import Catalog, load_catalog

ROOT_TWO = math.sqrt(2.0)


@pytest.fixture(scope="module")
def catalog() -> Catalog:
    return load_catalog()


# Densities [kg/m3]: published ranges quoted in J. Hofmann et al., Biomimetics 11(3) 202 (2026).
DENSITIES = {"pla": (1220, 1270), "abs": (1040, 1100), "petg": (1230, 1280)}


@pytest.mark.parametrize("name", DENSITIES)
def test_density_lies_in_the_published_range(catalog: Catalog, name: str) -> None:
    """The band of a density is the published one, to the stated 10 kg/m3."""
    number = catalog.materials[name].numbers["material.density"]
    low, high = DENSITIES[name]

    assert low - 10 <= number.low <= number.typical <= number.high <= high + 10


# Glass transitions [degC]: the public tables cited as glass-transition in rules/sources.yaml
# (PLA 59.1, 60-65, 61.5; PETG 77.4 and 80; ABS 100-105; ASA 100; PC 145).
GLASS = {"pla": (59.1, 65), "petg": (77.4, 80), "abs": (100, 105), "asa": (100, 100),
         "pc": (145, 145)}  # fmt: skip


@pytest.mark.parametrize("name", GLASS)
def test_softening_band_holds_the_published_glass_transitions(catalog: Catalog, name: str) -> None:
    """For amorphous plastics and PLA the softening temperature is the glass transition."""
    number = catalog.materials[name].numbers["material.softening_temperature"]
    low, high = GLASS[name]

    assert number.low - 273.15 <= low
    assert high <= number.high - 273.15 + 1e-9


# Melting points [degC] of partly crystalline plastics, same tables.
MELTING = {"pla": (150, 180), "pa6": (220, 220), "pa12": (178, 178), "pp": (160, 163)}


@pytest.mark.parametrize("name", MELTING)
def test_melting_band_meets_the_published_one(catalog: Catalog, name: str) -> None:
    """The typical melting point lies in the published range."""
    number = catalog.materials[name].numbers["material.melting_temperature"]
    low, high = MELTING[name]

    assert low <= number.typical - 273.15 <= high


def test_crystal_heat_of_pla_is_the_published_enthalpy_times_a_share(catalog: Catalog) -> None:
    """93 J/g for the full crystal, 35 % after cycling (PMC6641156, table 5) is the high end."""
    number = catalog.materials["pla"].numbers["material.crystal_heat"]

    assert number.high == pytest.approx(93e3 * 0.35, rel=0.01)
    assert number.typical == pytest.approx(93e3 * 0.20)


def test_effective_diffusivity_follows_from_conductivity(catalog: Catalog) -> None:
    """alpha = k / (rho (cp + chi h_f / dT)), dT from 25 degC to mid nozzle range (definition)."""
    for name, entry in catalog.materials.items():
        typical = {fact.split(".")[1]: n.typical for fact, n in entry.numbers.items()}
        rise = (typical["nozzle_low"] + typical["nozzle_high"]) / 2.0 - 298.15
        heat = typical["specific_heat"] + typical["crystal_heat"] / rise
        expected = typical["conductivity"] / (typical["density"] * heat)

        assert typical["diffusivity"] == pytest.approx(expected, rel=0.005), name


def test_measured_pla_plate_lies_in_the_diffusivity_band(catalog: Catalog) -> None:
    """A printed PLA plate: 0.12 W/(m K), 1200 J/(kg K) (AIP Conf. Proc. 2305, 020022).

    The band of the diffusivity is carried by the melt factor; the plate lies at its upper end.
    """
    numbers = catalog.materials["pla"].numbers
    typical, factor = numbers["material.diffusivity"].typical, numbers["material.melt_factor"]
    low, high = typical * factor.low, typical * factor.high

    assert low <= 0.12 / (1240.0 * 1200.0) <= high * 1.005


def test_tpu_conductivity_band_reaches_the_measured_one(catalog: Catalog) -> None:
    """TPU 0.26 +- 0.05 W/(m K) (Materials 16 (2023) 7384) overlaps the band."""
    number = catalog.materials["tpu-95a"].numbers["material.conductivity"]

    assert number.high >= 0.26 - 0.05
    assert number.low <= 0.26 + 0.05


# Nozzle ranges [degC]: Fashion and Textiles (2020), doi 10.1186/s40691-020-00232-7, table 2.
NOZZLE = {"pla": (180, 210), "pla-soft": (220, 230), "abs": (230, 250), "petg": (220, 245),
          "tpu-95a": (210, 240), "pa12": (255, 275)}  # fmt: skip


@pytest.mark.parametrize("name", NOZZLE)
def test_nozzle_range_overlaps_the_published_one(catalog: Catalog, name: str) -> None:
    """Each usual range shares at least half of the published one."""
    numbers = catalog.materials[name].numbers
    low = numbers["material.nozzle_low"].typical - 273.15
    high = numbers["material.nozzle_high"].typical - 273.15
    published = NOZZLE[name]
    shared = min(high, published[1]) - max(low, published[0])

    assert shared >= 0.5 * (published[1] - published[0])


def test_every_material_has_every_number_of_the_chain(catalog: Catalog) -> None:
    """No material lacks a number that another has: melting points and flexible ones' grip aside."""
    optional = {"material.melting_temperature", "drive.bite_depth", "model.guide_force"}
    names = [set(entry.numbers) - optional for entry in catalog.materials.values()]

    assert set(NOZZLE) <= set(catalog.materials)
    assert all(group == names[0] for group in names)


def test_insulation_is_class_b(catalog: Catalog) -> None:
    """Class B: hot spot 130 degC, rise 80 K by resistance (IEC 60034-1, IEC 60085)."""
    assert catalog.model.numbers["motor.rated_rise"].typical == 80.0
    for entry in catalog.motors.values():
        limit = entry.numbers["motor.insulation_limit"].typical
        assert limit == pytest.approx(130.0 + 273.15)


def test_copper_coefficient_is_the_standard_one(catalog: Catalog) -> None:
    """0.00393 per kelvin at 20 degC (IEC 60028; from memory)."""
    assert catalog.model.numbers["model.copper_coefficient"].typical == 0.00393


# A motor maker's published table and a public parts note of 42 mm motors about 40 mm long:
# 1.7 A, 1.5 ohm, 2.8 mH, 0.40 N m, 54 g cm2, 280 g; another 58 g cm2.
LONG_MOTOR = {"motor.rated_current": 1.7, "motor.resistance": 1.5, "motor.inductance": 2.8e-3,
              "motor.holding_torque": 0.40, "motor.rotor_inertia": 54e-7,
              "motor.mass": 0.280, "motor.detent_torque": 0.022}  # fmt: skip


@pytest.mark.parametrize("fact", LONG_MOTOR)
def test_long_motor_band_holds_the_published_part(catalog: Catalog, fact: str) -> None:
    """Each figure of the published part lies within the class band."""
    number = catalog.motors["square-42-long"].numbers[fact]

    assert number.low <= LONG_MOTOR[fact] * (1 + 1e-9)
    assert LONG_MOTOR[fact] <= number.high * (1 + 1e-9)


def test_detent_torque_is_a_small_share_of_holding_torque(catalog: Catalog) -> None:
    """Detent torque is 5-10 % of holding torque (public application note), a little below too."""
    for entry in catalog.motors.values():
        detent = entry.numbers["motor.detent_torque"].typical
        share = detent / entry.numbers["motor.holding_torque"].typical
        assert 0.04 <= share <= 0.10


# Full scale of the two-range drivers, vsense 0: sense resistor [ohm] to RMS current [A], from
# the datasheet's own table (section on sense resistors).
SHEET_TABLE = {1.00: 0.23, 0.82: 0.27, 0.50: 0.44, 0.33: 0.66, 0.22: 0.96, 0.18: 1.15,
               0.15: 1.35, 0.12: 1.64, 0.10: 1.92}  # fmt: skip


@every("chip", ["tmc2208", "tmc2209"])
@every("resistor", SHEET_TABLE)
def test_driver_voltages_give_the_sheet_table(catalog: Catalog, chip: str, resistor: float) -> None:
    """V_fs / (R_s + internal) / sqrt 2 meets the datasheet's table to its printed digits."""
    numbers = catalog.drivers[chip].numbers
    series = resistor + numbers["driver.internal_resistance"].typical
    current = numbers["driver.chip_voltage_high"].typical / series / ROOT_TWO

    assert current == pytest.approx(SHEET_TABLE[resistor], abs=0.006)


def test_reference_resistor_ranges_meet_the_front_page(catalog: Catalog) -> None:
    """12 kohm gives 1, 2 and 3 A peak, and 2.1 A RMS (datasheet front page)."""
    numbers = catalog.drivers["tmc2240"].numbers
    resistor = numbers["driver.reference_resistor"].typical
    peaks = [numbers[f"driver.range_constant_{i}"].typical / resistor for i in (1, 2, 3)]

    assert peaks == pytest.approx([1.0, 2.0, 3.0], rel=0.025)
    assert peaks[2] / ROOT_TWO == pytest.approx(numbers["driver.rms_limit"].typical, rel=0.02)


def test_silent_chopper_reproduces_the_sheet_example(catalog: Catalog) -> None:
    """The low ends are the datasheet's example: 24 clocks, 2/1024, 24 V, 5 ohm: 225 mA."""
    numbers = catalog.drivers["tmc2209"].numbers
    blank = numbers["driver.silent_blank_clocks"].low
    frequency = numbers["driver.silent_frequency"].low

    assert blank * frequency * 24.0 / 5.0 == pytest.approx(0.225, rel=1e-3)


def test_driver_supply_ranges(catalog: Catalog) -> None:
    """Front pages: 29 V, 36 V, 46 V, 60 V, 36 V as the highest supply."""
    highest = {chip: entry.numbers["driver.supply_high"].typical
               for chip, entry in catalog.drivers.items()}  # fmt: skip

    assert highest["tmc2209"] == 29.0
    assert highest["tmc2208"] == highest["tmc2240"] == 36.0
    assert highest["tmc2130"] == 46.0
    assert highest["tmc5160"] == 60.0


def test_usable_torque_is_the_published_margin(catalog: Catalog) -> None:
    """50 % over the required torque (a motion-control maker's note): usable is 1 / 1.5."""
    assert catalog.model.numbers["motor.usable_share"].typical == pytest.approx(1 / 1.5)


def test_shear_share_is_between_von_mises_and_punch_shear(catalog: Catalog) -> None:
    """The middle of 1/sqrt 3 (von Mises) and 0.75 (punch shear, ASTM D732).

    The grip factor carries the spread: its band is wider than the one these two would give.
    """
    share, factor = (catalog.model.numbers[name] for name in
                     ("material.shear_share", "model.grip_factor"))  # fmt: skip

    assert share.typical == pytest.approx((1 / math.sqrt(3) + 0.75) / 2, abs=5e-3)
    assert factor.high / factor.low > 0.75 * math.sqrt(3)


def test_guide_force_is_the_measured_one(catalog: Catalog) -> None:
    """2.2, 4.5 and 6.7 N for straight, arched, sharply bent (hobby measurement of 2013)."""
    number = catalog.model.numbers["model.guide_force"]

    assert (number.low, number.typical, number.high) == pytest.approx((2.2, 4.5, 6.7), abs=0.31)


def test_force_exponent_spans_the_published_fits(catalog: Catalog) -> None:
    """ABS under dead weight (Osswald et al. 2018): exponents 2.96 at 240 and 2.73 at 250 degC."""
    import numpy as np

    forces = np.array([21.6, 36.3, 40.4, 64.7, 98.1])
    speeds = {240: [0.705, 0.833, 0.872, 1.008, 1.180], 250: [0.805, 1.0, 1.03, 1.223, 1.403]}
    number = catalog.model.numbers["model.force_exponent"]
    for speed in speeds.values():
        fitted = np.polyfit(np.log(speed), np.log(forces), 1)[0]
        assert number.low <= fitted <= number.high
        assert number.typical == pytest.approx(fitted, rel=0.06)


def test_melt_factor_covers_the_published_table(catalog: Catalog) -> None:
    """The single-channel rows of Wuest et al. 2026, table 1, lie in the band of PLA's melt factor.

    The strongest row asks for 1.16; the band ends at 1.15.
    """
    rows = [(0.4, 12.5, 13.0), (0.4, 19.6, 16.0), (1.2, 21.0, 38.5), (1.2, 51.5, 76.5),
            (1.2, 51.5, 87.5)]  # fmt: skip
    numbers, pla = catalog.model.numbers, catalog.materials["pla"].numbers
    diffusivity = pla["material.diffusivity"].typical * 1e6
    factor = pla["material.melt_factor"]
    for bore, length, flow in rows:
        fourier = math.log(1.601975 / (75.0 / 195.0)) / 5.783186  # core 145 degC, wall 220
        fourier *= (bore / 0.4) ** -numbers["model.nozzle_exponent"].typical
        counted = 12.5 * (length / 12.5) ** numbers["model.length_exponent"].typical
        modelled = math.pi * diffusivity * counted / fourier
        assert factor.low <= flow / modelled <= factor.high + 0.02


def test_melt_factors_follow_the_caps_in_use(catalog: Catalog) -> None:
    """Caps in public profiles against PLA of the same origin: what the heat model gives times f.

    PETG 0.87, ABS 1.0 (at 260 degC), PA 0.71, PP 0.5 (a survey of shared profiles, 2026); asked,
    not measured, so the order and a wide band are all that is held.
    """
    asked = {"petg": (240, 0.87), "abs": (260, 1.0), "pa6": (260, 0.71), "pp": (235, 0.5)}

    def flow(name: str, wall: float) -> tuple[float, float]:
        n = catalog.materials[name].numbers
        theta = (wall + 273.15 - n["material.core_temperature"].typical) / (wall - 25.0)
        heats = n["material.diffusivity"].typical / math.log(1.601975 / theta)
        factor = n["material.melt_factor"]
        return heats * factor.low, heats * factor.high

    pla = catalog.materials["pla"].numbers["material.diffusivity"].typical
    pla /= math.log(1.601975 / (75.0 / 195.0))
    for name, (wall, share) in asked.items():
        low, high = (end / pla for end in flow(name, wall))
        assert low <= share * 1.02, name
        assert high >= share, name


def test_channels_of_a_split_nozzle(catalog: Catalog) -> None:
    """24.0 over 16.0 mm3/s for the same bore and length (same table) is the typical gain."""
    gain = catalog.inserts["split-3"].numbers["hotend.split_gain"]

    assert gain.typical == pytest.approx(24.0 / 16.0)
    assert (gain.low, gain.high) == (1.2, 1.8)  # common practice, no source


def test_printed_mounts_bear_less_than_their_glass_transition(catalog: Catalog) -> None:
    """The limit is at least 10 K below the glass transition's typical value (common practice)."""
    for name in ("pla", "petg", "abs", "asa", "pc"):
        limit = catalog.mounts[name].numbers["drive.mount_limit"].typical
        glass = catalog.materials[name].numbers["material.softening_temperature"].typical
        assert limit <= glass - 10.0 + 1e-9
        factor = catalog.mounts[name].numbers["motor.mount_factor"]
        assert (factor.low, factor.high) == (1.7, 2.2)


def test_reference_chain_uses_the_typical_numbers(catalog: Catalog) -> None:
    """Heater limit of PLA at 220 degC: 76.369 mm3/s, and of PETG at 240: 71.212 (independent
    computation of (P - P_loss) / (rho (cp dT + chi h_f)))."""
    hotend = catalog.hotends["standard"].numbers
    power = hotend["hotend.heater_power"].typical - hotend["hotend.heat_loss"].typical
    for name, rise, expected in (("pla", 195.0, 76.369), ("petg", 215.0, 71.212)):
        n = catalog.materials[name].numbers
        heat = n["material.specific_heat"].typical * rise + n["material.crystal_heat"].typical
        flow = power / (n["material.density"].typical * heat) * 1e9
        assert flow == pytest.approx(expected, rel=5e-5)
