"""The error tree of Firstoff. Every message says what is wrong, where, and what would be right.

    FirstoffError
    ├── InputError              something a person wrote or chose cannot be used (exit code 2)
    │   ├── FileError           a file is missing, empty, truncated or of another kind
    │   ├── ModelError          a solid model cannot be used
    │   ├── TomlError           a TOML file has a wrong key, unit, type or value
    │   ├── UnitError           a text with a unit cannot be read
    │   ├── NameUnknown         a name that nothing in shop, job, part or route bears
    │   │   └── NotBelieved     a figure that the shop has none for (a check says can't say)
    │   └── RecordError         a record that cannot be true or cannot be kept
    ├── OutOfRange              physics asked outside its range of validity (a check says can't say)
    └── MissingPackage          something that this computer lacks, with the package that brings it
"""

from __future__ import annotations


class FirstoffError(Exception):
    """Base of all errors: `what` is wrong, `where` (file, line, key), what would be `right`."""

    def __init__(self, what: str, *, where: str = "", right: str = "") -> None:
        self.what, self.where, self.right = what, where, right
        super().__init__(what)

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        cure = f" ({self.right})" if self.right else ""
        return f"{place}{self.what}{cure}"


class InputError(FirstoffError):
    """Something a person wrote or chose cannot be used."""


class FileError(InputError):
    """A file is missing, empty, truncated or of another kind."""


class ModelError(InputError):
    """A solid model cannot be used."""


class TomlError(InputError):
    """A TOML file has a wrong key, unit, type or value."""


class UnitError(InputError):
    """A text with a unit cannot be read."""


class NameUnknown(InputError):
    """A name that nothing in shop, job, part or route bears."""


class NotBelieved(NameUnknown):
    """A figure that the shop has none for: a check that needs it can't say."""


class RecordError(InputError):
    """A record that cannot be true or cannot be kept."""


class OutOfRange(FirstoffError, ValueError):
    """Physics was asked outside its range of validity."""


class MissingPackage(FirstoffError):
    """This computer lacks something; `right` names the package that brings it."""
