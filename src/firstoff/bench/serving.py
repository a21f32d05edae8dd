"""Serves the pages on this computer, and on the workshop's network where that is asked for."""

from __future__ import annotations

import socket
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Final

from ..errors import FileError
from .clerk import Clerk
from .keys import Codes, seal_of

HERE: Final = "127.0.0.1"
#: an address for documentation (RFC 5737): asking which of our own leads there sends nothing
ELSEWHERE: Final = "192.0.2.1"
Say = Callable[[Iterable[str]], None]


def serve(folder: Path, *, shop: Path | None, network: bool, port: int, say: Say) -> None:
    """Serve the pages of a job until they are stopped by the keyboard; in an empty folder one is started from them.

    Args:
        folder: of the job.
        shop: another shop than the job names.
        network: whether other devices of the workshop's network may be paired.
        port: to listen on; 0 for any that is free.
        say: prints lines.

    Raises:
        FileError: if there is no folder, or the port is taken.
    """
    import uvicorn

    from .office import Office
    from .routes import app_of

    folder = folder.parent if folder.name == "job.toml" else folder
    if not folder.is_dir():
        raise FileError("there is no such folder", where=str(folder), right="a folder with a job, or an empty one")
    sockets = _listening([HERE, *([own_address()] if network else [])], port)
    hosts = [f"{name}:{s.getsockname()[1]}" for s in sockets for name in _names(s)]
    office = Office(Clerk(folder.resolve(), shop, network), seal_of(folder), Codes(),
                    f"http://{hosts[-1]}" if network else "")
    say(_said(hosts, office.codes, network))
    config = uvicorn.Config(app_of(office, hosts), log_level="error", lifespan="off", access_log=False,
                            server_header=False, timeout_graceful_shutdown=2, ws="none")
    uvicorn.Server(config).run(sockets=sockets)


def _names(listening: socket.socket) -> list[str]:
    address = str(listening.getsockname()[0])
    return [address, "localhost"] if address == HERE else [address]


def _said(hosts: list[str], codes: Codes, network: bool) -> list[str]:
    lines = [f"The desk: http://{hosts[0]}/pair/{codes.new()}  (the address is good once)"]
    if network:
        lines += [f"A tablet: http://{hosts[-1]}/pair/{codes.new()}  (once, one device; more codes on the desk)",
                  "What goes over the network is not encrypted: only on a network whose users you know."]
    return [*lines, "Ctrl-C ends it."]


def own_address() -> str:
    """The address of this computer on its network.

    Raises:
        FileError: if it is on none.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect((ELSEWHERE, 9))
            found = str(asked.getsockname()[0])
        except OSError:
            found = HERE
    if found.startswith("127."):
        raise FileError("this computer is on no network", right="connect it, or leave out --network")
    return found


def _listening(addresses: list[str], port: int) -> list[socket.socket]:
    """A socket for each address, all on the same port."""
    out: list[socket.socket] = []
    for address in addresses:
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((address, out[0].getsockname()[1] if out else port))
            listening.listen(128)                 # before its address is printed
        except OSError as error:
            for opened in (*out, listening):
                opened.close()
            raise FileError(f"port {port} cannot be had: {error.strerror}", where=address,
                            right="another with --port, or 0 for any that is free") from None
        out.append(listening)
    return out
