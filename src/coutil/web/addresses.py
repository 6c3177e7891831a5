"""Under which addresses another machine finds the book, and the picture of one for a tablet's camera."""

from __future__ import annotations

import ipaddress
from collections.abc import Callable, Iterable
from typing import Final, TypeAlias

Address: TypeAlias = ipaddress.IPv4Address | ipaddress.IPv6Address

# Light around a QR picture, in its squares: ISO/IEC 18004 asks for four (from memory; segno's own default).
_MARGIN: Final = 4
_EVERY4: Final = ("", "0.0.0.0")
_EVERY6: Final = "::"


def own_addresses() -> tuple[Address, ...]:
    """The IP addresses of this machine, as its network adapters have them now."""
    import ifaddr

    found = []
    for adapter in ifaddr.get_adapters():
        for one in adapter.ips:
            text = one.ip if isinstance(one.ip, str) else one.ip[0]
            found.append(ipaddress.ip_address(text))
    return tuple(dict.fromkeys(found))


def addresses(
    listen: str, port: int, names: Iterable[str] = (), *, own: Callable[[], Iterable[Address]] = own_addresses
) -> tuple[str, ...]:
    """What to type into the browser of another machine, as "http://192.0.2.7:8417/": the easiest first.

    Given names come first, IPv4 before IPv6. IPv6 addresses that hold for one cable alone are left out: a browser
    cannot be given them. Served on one address, that one alone is told.
    """
    every = listen in (*_EVERY4, _EVERY6)
    found = [a for a in own() if _reached(a, listen)] if every else []
    hosts = sorted(names)
    # A network's own addresses before those that a machine gives itself where there is no network to ask.
    hosts += [_host(a) for a in sorted(found, key=lambda a: (a.version, a.is_link_local))]
    if not every:
        one = as_address(listen)
        hosts.append(listen if one is None else _host(one))
    return tuple(dict.fromkeys(f"http://{host}:{port}/" for host in hosts))


def picture(address: str) -> dict[str, object]:
    """The QR picture of an address as a path of squares: `size` across with its light margin, `d` its dark squares."""
    import segno

    # "M": reads with 15 % of it covered or glaring, as a screen under a lamp is.
    code = segno.make_qr(address, error="m")
    runs = []
    for y, row in enumerate(bytes(line) for line in code.matrix_iter(border=_MARGIN)):
        x = 0
        while x < len(row):
            run = 0
            while x + run < len(row) and row[x + run]:
                run += 1
            if run:
                runs.append(f"M{x} {y}h{run}v1h-{run}z")
            x += run + 1
    return {"size": code.symbol_size(border=_MARGIN)[0], "d": "".join(runs)}


def _reached(a: Address, listen: str) -> bool:
    if a.is_loopback or a.is_unspecified:
        return False
    if isinstance(a, ipaddress.IPv6Address):
        return listen == _EVERY6 and not a.is_link_local
    # A socket for every address of IPv6 takes those of IPv4 as well; see `coutil.web.server`.
    return True


def as_address(text: str) -> Address | None:
    """The IP address that a text is; None where it is a name."""
    try:
        return ipaddress.ip_address(text)
    except ValueError:
        return None


def _host(a: Address) -> str:
    return f"[{a}]" if isinstance(a, ipaddress.IPv6Address) else str(a)
