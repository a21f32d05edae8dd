"""What a person can ask of the nine tests of a mill: which mill, the card, the next best test for a job."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from .actions import check
from .errors import FileError
from .shop.library import find_shop, load_shop
from .work import Progress, open_job, quiet, records_folder

if TYPE_CHECKING:
    from .records.mill_hour import Mill
    from .records.next_test import Worth


def mill(machine: str | None = None, *, shop: Path | None = None) -> Mill:
    """The mill that an hour of tests is for, and where its readings are kept.

    Raises:
        InputError: if there is no shop of the person's own, or no such mill in it.
    """
    from .records.mill_hour import mill_of

    place = find_shop(Path.cwd(), None, shop)
    if place is None:
        raise FileError("there is no shop of your own here to keep the readings in", where=str(Path.cwd()),
                        right="firstoff new shop FOLDER, then --shop FOLDER")
    return mill_of(load_shop(place), machine, records_folder(Path.cwd(), place))


def mill_card(path: Path, *, shop: Path | None = None) -> Path:
    """Print the card of the nine tests; without a shop of the person's own it is for any mill.

    Raises:
        InputError: if the shop is wrong, or the card cannot be written there.
    """
    from .sheets.mill_card import write_card

    write_card(load_shop(find_shop(Path.cwd(), None, shop)), path)
    return path


def next_tests(
    folder: Path, program: Path | None = None, *, shop: Path | None = None, progress: Progress = quiet
) -> list[Worth]:
    """Which test, trial or measurement would lower the expected cost of a job most.

    Args:
        folder: of the job.
        program: where to write the test cut that is worth most; None for none.
        shop: another shop than the job names.
        progress: told what is under way.

    Raises:
        InputError: if the job cannot be checked, or no test cut would help it.
    """
    from .dryrun.findings import write_atomically
    from .records.next_test import cut_text
    from .records.next_test import next_tests as ranked

    result = check(folder, shop=shop, progress=progress)
    found = ranked(result, open_job(folder, shop, progress).belief)
    if program is not None:
        write_atomically(program, cut_text(result, found).encode("ascii"))
    return found
