"""What a file says of its solids beside their shape: the schema, the solids in order, the name of each product."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from firstoff.errors import NameUnknown
from firstoff.part.exchange import Exchange, Ref

SOLIDS = ("MANIFOLD_SOLID_BREP", "BREP_WITH_VOIDS", "FACETED_BREP", "FACETED_BREP_AND_BREP_WITH_VOIDS")
FACES = ("ADVANCED_FACE", "FACE_SURFACE", "FACE")
_SCHEMAS = (
    ("AP242", ("AP242",)), ("AP214", ("AUTOMOTIVE_DESIGN", "AP214")),
    ("AP203", ("CONFIG_CONTROL_DESIGN", "AP203", "CONFIGURATION_CONTROL_3D_DESIGN")),
)


def schema(file: Exchange) -> str:
    """AP203, AP214 or AP242; the name that the file gives where it is another; '' where it names none."""
    name = file.schema().upper()
    return next((short for short, words in _SCHEMAS if any(word in name for word in words)), name)


def solids(file: Exchange) -> list[int]:
    """The solids of the text in its order, as the names of their instances."""
    return file.of(*SOLIDS)


def faces_of(file: Exchange, solid: int) -> list[Any]:
    """The faces of a solid: those of its outer shell as it lists them, then those of its voids."""
    values = file.values(solid, "MANIFOLD_SOLID_BREP", *SOLIDS)
    shells = [values[1]] if len(values) > 1 else [value for value in values if isinstance(value, Ref)]
    for void in file.values(solid, "BREP_WITH_VOIDS")[-1:]:
        shells += list(void) if isinstance(void, tuple) else []
    return [face for shell in shells for face in _shell(file, shell)]


def _shell(file: Exchange, shell: Any) -> list[Any]:
    turned = file.values(shell, "ORIENTED_CLOSED_SHELL")
    shell = next((value for value in turned if isinstance(value, Ref)), shell)
    listed = file.values(shell, "CLOSED_SHELL", "CONNECTED_FACE_SET")
    return next((list(value) for value in listed if isinstance(value, tuple)), [])


def names(file: Exchange, sources: Sequence[int]) -> tuple[str, ...]:
    """A name for each solid: its product's; each once, with (2), (3) where an assembly uses one again.

    Args:
        file: the exchange structure.
        sources: for each solid, its place among the solids of the text [1].
    """
    bodies, products = solids(file), _Products(file)
    found: list[str] = []
    for number, source in enumerate(sources, 1):
        body = bodies[source] if 0 <= source < len(bodies) else None
        plain = (products.name(body) or _own(file, body)) if body is not None else ""
        plain = plain.strip() or f"solid {number}"
        name, again = plain, 2
        while name in found:
            name, again = f"{plain} ({again})", again + 1
        found.append(name)
    return tuple(found)


def _own(file: Exchange, body: int) -> str:
    values = file.values(body, "MANIFOLD_SOLID_BREP", *SOLIDS)
    return values[0] if values and isinstance(values[0], str) else ""


class _Products:
    """The way from a solid to its product: representation, shape definition, definition, formation, product."""

    def __init__(self, file: Exchange) -> None:
        self.file = file
        self.holds: dict[Any, list[int]] = {}
        for number in file.of("SHAPE_REPRESENTATION", "ADVANCED_BREP_SHAPE_REPRESENTATION", "REPRESENTATION",
                              "FACETED_BREP_SHAPE_REPRESENTATION"):
            for values in file.record(number).values():
                for item in values[1] if len(values) > 1 and isinstance(values[1], tuple) else ():
                    if isinstance(item, Ref):
                        self.holds.setdefault(int(item), []).append(number)
        self.beside: dict[int, list[int]] = {}
        for number in file.of("SHAPE_REPRESENTATION_RELATIONSHIP"):
            if "REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION" not in file.record(number):
                pair = [int(value) for value in file.values(number, "SHAPE_REPRESENTATION_RELATIONSHIP")
                        if isinstance(value, Ref)]
                for one, other in (pair, pair[::-1]) if len(pair) == 2 else ():
                    self.beside.setdefault(one, []).append(other)
        self.defines = {}
        for number in file.of("SHAPE_DEFINITION_REPRESENTATION"):
            values = file.values(number, "SHAPE_DEFINITION_REPRESENTATION")
            if len(values) == 2 and isinstance(values[1], Ref):
                self.defines[int(values[1])] = values[0]

    def name(self, body: int) -> str:
        """The name of the product that has this solid; '' where the file does not say."""
        front, seen = list(self.holds.get(body, [])), set()
        while front:
            representation = front.pop(0)
            if representation in seen:
                continue
            seen.add(representation)
            told = self._product(self.defines.get(representation))
            if told:
                return told
            front += self.beside.get(representation, [])
        return ""

    def _product(self, shape: Any) -> str:
        definition = _at(self.file.values(shape, "PRODUCT_DEFINITION_SHAPE", "PROPERTY_DEFINITION"), 2)
        formation = _at(self.file.values(definition, "PRODUCT_DEFINITION",
                                         "PRODUCT_DEFINITION_WITH_ASSOCIATED_DOCUMENTS"), 2)
        product = _at(self.file.values(formation, "PRODUCT_DEFINITION_FORMATION",
                                       "PRODUCT_DEFINITION_FORMATION_WITH_SPECIFIED_SOURCE"), 2)
        told = self.file.values(product, "PRODUCT")[:2]
        return next((text for text in reversed(told) if isinstance(text, str) and text.strip()), "")


def _at(values: tuple[Any, ...], place: int) -> Any:
    return values[place] if len(values) > place else None


def chosen(wanted: str, known: Sequence[str], where: str) -> int:
    """Which solid a person means by its name or its number from 1.

    Raises:
        NameUnknown: if there is none, with the names that there are.
    """
    wanted = wanted.strip()
    exact = [k for k, name in enumerate(known) if name == wanted]
    near = exact or [k for k, name in enumerate(known) if name.casefold() == wanted.casefold()]
    if near:
        return near[0]
    if wanted.isdecimal() and 1 <= int(wanted) <= len(known):
        return int(wanted) - 1
    shown = ", ".join(known[:12]) + (" ..." if len(known) > 12 else "")
    raise NameUnknown(f"the file has no solid {wanted!r}", where=where, right=f"one of {shown}, or 1 to {len(known)}")
