"""The sheets as one PDF. The only module that imports the typesetter.

All texts go to the template as data and never as its language, so that a job may be called anything.
"""

from __future__ import annotations

import json
import tempfile
from collections import defaultdict
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from ..dryrun.placing import Placed
from ..dryrun.result import Result
from ..errors import FileError, MissingPackage
from ..part.shapes import View
from .cards import Card, setting_sheet
from .chain_drawing import ChainDrawing
from .drawing import TALLEST, WIDTH, Drawing, setting_drawing
from .listings import listings
from .lists import DECISION, front_page, inspection, joints
from .pen import clean
from .stand_drawing import stand_drawings

STEP: Final = 1.0              #: a drawing that is lower by less saves nothing [mm]
TEMPLATE: Final = Path(__file__).with_name("sheets.typ")


def write_pdf(
    result: Result, views: Mapping[str, Sequence[View]], path: Path, chains: Sequence[ChainDrawing] = ()
) -> int:
    """Print the sheets of a job: front page, a sheet for each setting, inspection, ways of the limits, joints.

    Args:
        result: what the dry run returned.
        views: hidden-line views by setting; a setting without any gets a sheet without a drawing.
        path: the PDF; it is written whole or not at all.
        chains: the way of each limit through the settings, drawn.

    Returns:
        The number of pages.

    Raises:
        FileError: if the PDF cannot be written there.
        MissingPackage: if the typesetter is not installed.
    """
    pdf, pages = typeset(content(result, views, chains, smaller=True))
    write_whole(pdf, path)
    return pages


def content(
    result: Result, views: Mapping[str, Sequence[View]], chains: Sequence[ChainDrawing] = (), *,
    smaller: bool = False,
) -> Card:
    """All that is printed, as texts and drawings.

    Args:
        result: what the dry run returned.
        views: hidden-line views by setting.
        chains: the way of each limit through the settings, drawn.
        smaller: whether each setting is drawn in the next smaller scale, too, for where that saves a sheet.
    """
    order = _in_order(result)
    settings = []
    for name, place in order.items():
        sheet = setting_sheet(result, name, place)
        drawn = drawing(result, name, views.get(name, ()))
        sheet["drawing"] = None if drawn is None else _drawn(drawn)
        less = drawing(result, name, views.get(name, ()), drawn.height - STEP) if smaller and drawn else None
        sheet["smaller"] = _drawn(less) if less and drawn and less.height < drawn.height else None
        sheet["undrawn"] = list(drawn.left_out) if drawn else ["There is no drawing of this setting"]
        settings.append(sheet)
    return {"front": front_page(result), "settings": settings, "inspection": inspection(result),
            "decision": DECISION, "joints": joints(result), "listings": listings(result),
            "stands": [{"svg": stand.svg, "height": stand.height} for stand in stand_drawings(result)],
            "chains": [{"svg": chain.svg, "height": chain.height} for chain in chains]}


def _drawn(made: Drawing) -> Card:
    return {"svg": made.svg, "height": made.height, "scale": made.scale}


def _in_order(result: Result) -> dict[str, tuple[int, int]]:
    """Settings by the number of their first operation, each with its place among those of its workpiece."""
    first: dict[str, int] = {}
    for _, op in result.route.in_order():
        first.setdefault(op.setting, op.number)
    names = sorted(result.route.settings, key=lambda name: first.get(name, 10**6))
    of_work: dict[str, list[str]] = defaultdict(list)
    for name in names:
        of_work[result.route.settings[name].workpiece].append(name)
    return {name: (mates.index(name) + 1, len(mates)) for name in names
            if (mates := of_work[result.route.settings[name].workpiece])}


def drawing(result: Result, name: str, views: Sequence[View], tallest: float = TALLEST,
            width: float = WIDTH) -> Drawing | None:
    """The drawing of a setting, at most so tall, on paper so wide [mm]; None where its first part is not known."""
    setting = result.route.settings[name]
    part = setting.workpiece.split("+")[0]
    if part not in result.parts or part not in result.job.parts or not views:
        return None
    numbers: dict[str, tuple[int, ...]] = {}
    for _, op in result.route.of_setting(name):
        for feature in op.features:
            numbers[feature] = (*numbers.get(feature, ()), op.number)
    device = result.shop.devices.get(setting.holding.device)
    placed = Placed(result.parts[part], result.job.parts[part], setting, device)
    return setting_drawing(placed, views, numbers, result.job.units, tallest, width)


def typeset(data: Card, template: Path = TEMPLATE) -> tuple[bytes, int]:
    """Set the texts; returns the PDF and its number of pages."""
    try:
        import typst
    except ImportError:
        raise MissingPackage("the typesetter for the sheets is not installed", right="pip install typst") from None
    text = json.dumps(_cleaned(data), ensure_ascii=False)
    compiler = typst.Compiler(str(template), root=str(template.parent), ignore_system_fonts=True,
                              sys_inputs={"data": text})
    pdf = compiler.compile(format="pdf")
    pages = json.loads(compiler.query("<pages>", field="value", one=True))
    assert isinstance(pdf, bytes), "one document, one file"
    return pdf, int(pages)


def _cleaned(data: object) -> object:
    """The same with every text made printable."""
    if isinstance(data, str):
        return clean(data)
    if isinstance(data, Mapping):
        return {key: _cleaned(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_cleaned(value) for value in data]
    return data


def write_whole(pdf: bytes, path: Path) -> None:
    """Beside its place first, then moved: nothing half-written is ever found there."""
    beside: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as file:
            beside = Path(file.name)
            file.write(pdf)
        beside.chmod(0o644)
        beside.replace(path)
    except OSError as error:
        if beside is not None:
            beside.unlink(missing_ok=True)
        raise FileError(f"the sheets cannot be written: {error.strerror}", where=str(path),
                        right="a folder that exists and can be written to") from None
