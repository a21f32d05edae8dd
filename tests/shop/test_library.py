"""The starter library is whole and follows from what it cites; a shop joins it, or says what is wrong."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from firstoff.errors import FileError, FirstoffError, NameUnknown, TomlError
from firstoff.shop.library import find_shop, library, load_shop
from firstoff.shop.models import Figure, Material
from firstoff.sources import BIBLIOGRAPHY
from tests.published import agrees

MM2, MM = 1e6, 1e3          # N/mm2 in Pa, N/mm in N/m
FORCES = ("tangential", "radial", "axial", "tangential_edge", "radial_edge", "axial_edge", "drilling_force",
          "tapping_force")

#: k_c1.1 [N/mm2] and exponent after Kienzle: klocke2011, recalled; the steels are those of the reference case FO-10
KIENZLE = {
    "s275_hot_rolled": (1780, 0.17), "s275_cold_drawn": (1780, 0.17), "c45": (2220, 0.14),
    "free_cutting_steel": (1200, 0.18), "stainless_304": (2350, 0.21), "cast_iron_gg25": (1160, 0.26),
    "brass_cz121": (780, 0.18),
}

#: K_tc, K_te, K_rc, K_re of milled aluminium: cjme2021, table 5 [N/mm2, N/mm]
ALUMINIUM = {
    "6082": (631, 13, 99, 10), "7075 a": (767.01, 27.7, 168.8, 26.6), "6061": (243.77, 7.53, 113.5, 7.83),
    "7075 b": (600.46, 17.9, 180.96, 20.42), "AlMgSi0.5": (561.2, 204.3, 194.4, 16.2),
    "7075 HSS": (951.365, 11.115, 262.597, 11.314), "7075 c": (1319.41, 19.65, 788.83, 26.77),
}


def figure(material: str, name: str) -> Figure:
    """A figure of the library that must be there."""
    found = getattr(library().models["materials"][material], name)
    assert isinstance(found, Figure)
    return found


def written(folder: Path, text: str, name: str = "shop.toml") -> Path:
    """A shop folder with this text."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_text(text, encoding="utf-8")
    return folder


def test_the_starter_shop_is_whole() -> None:
    shop = load_shop(None)
    kinds = {shop.classes[machine.like].kind for machine in shop.machines.values()}
    assert kinds == {"mill", "drill_press", "hand"}
    assert {tool.kind for tool in shop.tools.values()} >= {
        "end_mill", "ball", "chamfer", "drill", "spot_drill", "countersink", "tap", "reamer", "file", "saw"}
    assert {tool.material for tool in shop.tools.values()} <= shop.tool_materials.keys()
    assert shop.rubbing_ratio is not None and 0.1 < shop.rubbing_ratio.value < 0.6


def test_every_material_is_whole_or_a_mixture() -> None:
    materials: dict[str, Material] = load_shop(None).materials
    for key, material in materials.items():
        assert material.cautions, f"{key} carries no caution"
        assert material.cutting_speed.hss and material.cutting_speed.carbide, key
        if material.one_of:
            assert material.one_of.keys() <= materials.keys()
            assert sum(material.one_of.values()) == pytest.approx(1.0)
        else:
            for name in (*FORCES, "young", "tensile_strength", "density"):
                assert getattr(material, name) is not None, f"{key} has no {name}"


@pytest.mark.parametrize("key", KIENZLE)
def test_the_straight_line_is_that_of_the_power_law(key: str) -> None:
    constant, exponent = KIENZLE[key]
    assert figure(key, "drilling_force").value == pytest.approx(constant * MM2)
    assert library().models["materials"][key].drilling_exponent == exponent
    chip = np.linspace(0.01, 0.1, 2001)                                # mm
    force = constant * chip ** (1.0 - exponent)                        # N per mm of width
    slope, edge = np.polyfit(chip, force, 1, w=1.0 / force)
    assert figure(key, "tangential").value == pytest.approx(slope * MM2, rel=0.005)
    assert figure(key, "tangential_edge").value == pytest.approx(edge * MM, rel=0.005)
    assert np.abs((edge + slope * chip) / force - 1.0).max() < 0.14
    ours = figure(key, "tangential").value / MM2 + figure(key, "tangential_edge").value / MM / 0.05
    agrees("force", f"specific force in {key} at a chip of 0.05 mm, power law of the table (recalled)", "klocke2011",
           constant * 0.05**-exponent, ours, "N/mm2", within=0.05)


def mean_and_factor(values: list[float]) -> tuple[float, float]:
    """Geometric mean, and × and ÷ of one standard deviation."""
    logs = np.log(values)
    return math.exp(logs.mean()), math.exp(logs.std(ddof=1))


@pytest.mark.parametrize(("key", "name", "column", "rows"), [
    ("al_6082", "tangential", 0, ALUMINIUM), ("al_6082", "radial", 2, ALUMINIUM),
    ("al_6082", "radial_edge", 3, ALUMINIUM),
    ("al_6082", "tangential_edge", 1, [row for row in ALUMINIUM if row != "AlMgSi0.5"]),
    *[("al_7075", name, column, [row for row in ALUMINIUM if "7075" in row])
      for column, name in enumerate(("tangential", "tangential_edge", "radial", "radial_edge"))],
])
def test_aluminium_is_the_mean_of_the_published_rows(key: str, name: str, column: int, rows: list[str]) -> None:
    mean, factor = mean_and_factor([ALUMINIUM[row][column] for row in rows])
    found = figure(key, name)
    assert found.value == pytest.approx(mean * (MM if "edge" in name else MM2), rel=0.01)
    assert found.factor == pytest.approx(factor, rel=0.01)


def test_unit_power_agrees_with_the_published_ranges() -> None:
    """Energy of a volume cut at a chip of 0.25 mm against table 2.1 of stephenson, 1.5 times either way."""
    published = {"s275_hot_rolled": (0.05, 0.066), "al_6082": (0.012, 0.022), "stainless_304": (0.055, 0.09)}
    for key, (low, high) in published.items():
        chip = 0.25e-3                                                   # m
        energy = figure(key, "tangential").value + figure(key, "tangential_edge").value / chip      # J/m3
        per_minute = energy / (1e3 * 60.0) * 1e-6                       # kW/(cm3/min)
        assert low / 1.5 < per_minute < high * 1.5, key


def test_every_figure_cites_something_that_is_listed() -> None:
    from firstoff.shop.columns import figures

    for item in figures(load_shop(None)):
        assert item.figure.source in BIBLIOGRAPHY, item.dotted
        assert item.figure.source != "own", item.dotted


def test_the_starter_shop_is_used_where_there_is_none() -> None:
    assert load_shop(None).file == ""


def test_a_shop_takes_what_it_uses_and_adds_its_own(tmp_path: Path) -> None:
    folder = written(tmp_path, '''
        name = "mine"
        units = "in"
        use = { tools = ["drill_5"], instruments = [] }
        [rates]
        hour = 40
        [machines.mill]
        name = "mill"
        like = "small_column"
        collets = ["collet_6"]
        [machines.mill.stiffness]
        x = { value = "3 N/um", sd = "0.3 N/um", source = "measured" }
        y = { value = "3 N/um", sd = "0.3 N/um", source = "measured" }
        z = { value = "5 N/um", sd = "0.5 N/um", source = "measured" }
        [tools.long_six]
        from = "end_mill_6_2f"
        stickout = "2 in"
        [materials.c45]
        name = "C45 from the scrap bin"
        group = "P"
    ''')
    shop = load_shop(folder)
    assert load_shop(folder / "shop.toml") == shop
    assert set(shop.tools) == {"drill_5", "long_six"}
    assert shop.tools["long_six"].stickout == pytest.approx(50.8)
    assert shop.tools["long_six"].diameter == 6.0
    assert shop.instruments == {}
    assert shop.devices.keys() == library().models["devices"].keys()
    assert set(shop.machines) == {"mill"}
    assert shop.materials["c45"].name == "C45 from the scrap bin"
    assert shop.materials["al_6082"] == library().models["materials"]["al_6082"]
    assert (shop.units, shop.rates.hour, shop.file) == ("in", 40.0, str(folder / "shop.toml"))


MILL = '[machines.mill]\nname = "mill"\nlike = "small_column"\n'


@pytest.mark.parametrize(("text", "error", "place", "said"), [
    ('use = { tools = ["drill_5_1"] }', NameUnknown, "line 2, use.tools", "did you mean 'drill_5_5'?"),
    ('use = { devices = ["zzz"] }', NameUnknown, "line 2, use.devices", "known: angle_block"),
    ('use = { tool = ["drill_5"] }', TomlError, "line 2, use.tool", "did you mean 'tools'?"),
    (MILL.replace("small_column", "small_colum"), NameUnknown, "line 4, machines.mill.like", "'small_column'"),
    (MILL + 'collets = ["collet_7"]', NameUnknown, "line 5, machines.mill.collets",
     "there is no collet in this shop 'collet_7'"),
    (MILL + 'lost_motion = "0.02 mm"', TomlError, "line 5, machines.mill.lost_motion", "factor"),
    (MILL + "setup_time = 600", TomlError, "line 5, machines.mill.setup_time", "needs a unit: time"),
    (MILL + 'lost_moton = { value = "0.02 mm", factor = 2, source = "judged" }', TomlError,
     "line 5, machines.mill.lost_moton", "did you mean 'lost_motion'?"),
    ('[tools.mine]\nfrom = "end_mill_9"', NameUnknown, "line 3, tools.mine.from", "did you mean"),
    ('[tools.mine]\nfrom = "drill_5"\ndiameter = "5.1"', TomlError, "line 4, tools.mine.diameter", "has no unit"),
    ('[materials.mix]\nname = "mix"\ngroup = "P"\none_of = { c46 = 1.0 }', NameUnknown,
     "line 5, materials.mix.one_of", "'c45'"),
    ("good = 0.2", TomlError, "line 2, good", "not below close"),
    ("good = 2", TomlError, "line 2, good", "less than 1"),
    ('machine = "mill"', TomlError, "line 2, machine", "did you mean 'machines'?"),
    ("machines = 3", TomlError, "line 2, machines", "3"),
])
def test_what_is_wrong_in_a_shop_is_told(
    tmp_path: Path, text: str, error: type[FirstoffError], place: str, said: str,
) -> None:
    folder = written(tmp_path, f'name = "mine"\n{text}\n')
    with pytest.raises(error) as caught:
        load_shop(folder)
    assert caught.value.where == f"{folder / 'shop.toml'}, {place}"
    assert said in str(caught.value)


def test_a_shop_that_is_not_there(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none", tmp_path / "none.toml"):
        with pytest.raises(FileError, match="no shop here"):
            load_shop(path)


def test_which_shop_a_job_is_made_in(tmp_path: Path) -> None:
    job = tmp_path / "jobs" / "plane"
    job.mkdir(parents=True)
    above, beside, other = written(tmp_path, ""), written(job / "shop", ""), written(tmp_path / "other", "")
    assert find_shop(job, None, None) == above / "shop.toml"
    assert find_shop(job, "shop", None) == beside / "shop.toml"
    assert find_shop(job, "../../other/shop.toml", None) == job / "../../other/shop.toml"
    assert find_shop(job, "shop", other) == other / "shop.toml"
    nearest = written(job, "")
    assert find_shop(job, None, None) == nearest / "shop.toml"
    with pytest.raises(FileError, match="no shop here"):
        find_shop(job, "nowhere", None)
    with pytest.raises(FileError, match="no shop here"):
        find_shop(job, "shop", tmp_path / "nowhere")


def test_no_shop_anywhere(tmp_path: Path) -> None:
    assert not any((folder / "shop.toml").exists() for folder in (tmp_path, *tmp_path.parents))
    assert find_shop(tmp_path, None, None) is None
