"""Where it listens, and what it prints."""

from __future__ import annotations

import re
import socket
from pathlib import Path

import pytest

from firstoff.bench import serving
from firstoff.bench.keys import LENGTH, Codes
from firstoff.errors import FileError


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="no such folder"):
        serving.serve(tmp_path / "elsewhere", shop=None, network=False, port=0, say=lambda _lines: None)


def test_it_listens_on_this_computer_alone() -> None:
    (listening,) = serving._listening([serving.HERE], 0)
    with listening:
        assert listening.getsockname()[0] == "127.0.0.1"
        with socket.create_connection(listening.getsockname()):
            pass                                  # whoever opens the printed address is heard, if not yet answered


def test_a_port_that_is_taken_is_told() -> None:
    with socket.socket() as other:
        other.bind((serving.HERE, 0))
        other.listen()
        with pytest.raises(FileError, match="cannot be had"):
            serving._listening([serving.HERE], other.getsockname()[1])


def test_each_address_that_is_printed_has_a_code_of_its_own() -> None:
    codes = Codes()
    here, there = ["127.0.0.1:1"], ["127.0.0.1:1", "localhost:1", "10.0.0.2:1"]
    assert len(re.findall(r"/pair/\w+", "\n".join(serving._said(here, codes, network=False)))) == 1
    said = "\n".join(serving._said(there, codes, network=True))
    found = re.findall(rf"/pair/(\w{{{LENGTH}}})", said)
    assert "http://10.0.0.2:1/pair/" in said
    assert "not encrypted" in said
    assert all(codes.use(code) for code in found)
    assert len(set(found)) == 2
