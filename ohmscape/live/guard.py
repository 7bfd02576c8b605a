"""Who may speak with a page: the browser that was given its address, and nothing else.

The server listens to this machine alone, but every page that a browser here has open can speak
to it, and so can every user of the machine. Hence an address that works once, for a cookie that
goes to one path of no guessable name (cookies know no ports: another server on this machine
would be sent one that goes to all paths), the very host name (a name elsewhere may be made to
lead here), and the origin of whatever opens a socket.
"""

import hmac
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from time import monotonic

_host = "127.0.0.1"
_bytes = 32  # of chance in whatever must not be guessed
Headers = Iterable[tuple[bytes, bytes]]

# Of a tab: a drag tells each picture of the screen, at most.
longest_message = 256 * 1024  # bytes
_per_second, _at_once = 300.0, 600.0
most_tabs = 16


@dataclass
class Guard:
    """What a request has to bring.

    Attributes
    ----------
    port : int
        That is listened to.
    """

    port: int
    _place: str = field(default_factory=lambda: secrets.token_urlsafe(_bytes))
    _secret: str = field(default_factory=lambda: secrets.token_urlsafe(_bytes))
    _invitations: set[str] = field(default_factory=set)

    @property
    def origin(self) -> str:
        """Origin of the page."""
        return f"http://{_host}:{self.port}"

    @property
    def path(self) -> str:
        """Path of the page."""
        return f"/p/{self._place}/"

    @property
    def socket_path(self) -> str:
        """Path of its socket."""
        return f"{self.path}live"

    def address(self) -> str:
        """A new address of the page, that works once."""
        invitation = secrets.token_urlsafe(_bytes)
        self._invitations.add(invitation)
        return f"{self.origin}/?token={invitation}"

    def invited(self, token: str) -> bool:
        """Whether an address is one that was given and not used yet; it is used up by this."""
        known = {one for one in self._invitations if hmac.compare_digest(one, _ascii(token))}
        self._invitations -= known
        return bool(known)

    def cookie(self) -> str:
        """What sets the cookie."""
        return (
            f"{self._cookie_name}={self._secret}; Path={self.path}; HttpOnly; SameSite=Strict"
        )

    def to_this_host(self, headers: Headers) -> bool:
        """Whether a request names this host by its number, and comes from no other page."""
        hosts = [value for name, value in headers if name == b"host"]
        origins = [value for name, value in headers if name == b"origin"]
        return hosts == [f"{_host}:{self.port}".encode()] and origins in (
            [],
            [self.origin.encode()],
        )

    def lets_in(self, headers: Headers, *, socket: bool) -> bool:
        """Whether a request may see the page, or open a socket."""
        headers = list(headers)
        if not self.to_this_host(headers):
            return False
        if socket and not any(name == b"origin" for name, _ in headers):
            return False
        cookies = [value for name, value in headers if name == b"cookie"]
        return any(
            hmac.compare_digest(_ascii(given), self._secret)
            for given in _cookies(cookies, self._cookie_name)
        )

    @property
    def _cookie_name(self) -> str:
        return f"ohmscape-{self.port}"


def security_headers(guard: Guard, *, nonce: str) -> Mapping[str, str]:
    """What a browser must not do with a page: load, run or say anything that is not its own."""
    policy = (
        f"default-src 'none'; script-src 'nonce-{nonce}'; style-src 'nonce-{nonce}'; "
        f"img-src data: blob:; connect-src ws://{_host}:{guard.port}; base-uri 'none'; "
        "form-action 'none'; frame-ancestors 'none'"
    )
    return {
        "Content-Security-Policy": policy,
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
        "Referrer-Policy": "no-referrer",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Cache-Control": "no-store",
    }


class Rate:
    """How many messages a tab may send: so many at once, so many a second."""

    def __init__(self) -> None:
        self._left, self._last = _at_once, monotonic()

    def allows(self) -> bool:
        """Whether one more may come now."""
        now = monotonic()
        self._left = min(_at_once, self._left + (now - self._last) * _per_second)
        self._last = now
        if self._left < 1.0:
            return False
        self._left -= 1.0
        return True


def _cookies(headers: list[bytes], name: str) -> list[str]:
    """Values of a cookie."""
    found = []
    for header in headers:
        try:
            cookies = SimpleCookie(header.decode("latin-1"))
        except CookieError:
            continue
        if name in cookies:
            found.append(cookies[name].value)
    return found


def _ascii(text: str) -> str:
    """Text that can be compared in constant time."""
    return text if text.isascii() else ""
