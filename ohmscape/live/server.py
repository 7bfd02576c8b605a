"""The server of one page, for one browser on this machine."""

import asyncio
import json
import secrets
import signal
import socket
from collections.abc import Callable, Coroutine, Iterator
from contextlib import contextmanager, suppress
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from starlette.websockets import WebSocket, WebSocketDisconnect

from ..solver.errors import CaseError
from ..viz.live.page import live_page
from .background import plain
from .guard import Guard, Rate, longest_message, most_tabs, security_headers
from .session import Session
from .tabs import Tab, message

_not_understood, _too_many = 1003, 1008  # why a socket is closed
_most_connections = 64
_nonce = "ohmscape nonce"
_used_up = (
    "This address has been used, or it is not whole: each works once. Give the command again "
    "for a new one; edits are kept.\n"
)


async def lived(session: Session, *, told: Callable[[Guard], None]) -> tuple[int, int]:
    """Serve the page of a session until a signal ends it.

    Parameters
    ----------
    told : callable
        Given the guard once the page can be opened.

    Returns
    -------
    signal, unsaved : int
        Number of the signal, and of the changes that are kept and not saved.
    """
    ended: asyncio.Future[int] = asyncio.get_running_loop().create_future()
    with _signals(ended):
        try:
            await _unless(ended, session.begin())
            if not ended.done():
                await _served(session, ended, told)
        finally:
            unsaved = await session.end()
    return ended.result(), unsaved


async def _served(
    session: Session, ended: "asyncio.Future[int]", told: Callable[[Guard], None]
) -> None:
    listening = socket.create_server(("127.0.0.1", 0))
    guard = Guard(listening.getsockname()[1])
    config = uvicorn.Config(
        application(session, guard),
        ws="websockets-sansio",
        ws_max_size=longest_message,
        ws_per_message_deflate=False,
        ws_ping_timeout=60.0,
        log_config=None,
        lifespan="off",
        limit_concurrency=_most_connections,
        timeout_graceful_shutdown=1,
        server_header=False,
        date_header=False,
    )
    server = _Server(config)
    serving: asyncio.Future[None] = asyncio.create_task(server.serve(sockets=[listening]))
    working: asyncio.Future[None] = asyncio.create_task(session.work())
    try:
        while not (server.started or serving.done()):
            await asyncio.sleep(0.01)
        told(guard)
        await _first(ended, serving, working)
    finally:
        working.cancel()
        await asyncio.wait({working})
        await session.say_goodbye()
        server.should_exit = True
        await asyncio.wait({serving})
    for task in (serving, working):
        if not task.cancelled():
            task.result()  # raises what went wrong


async def _unless(ended: "asyncio.Future[int]", work: Coroutine[Any, Any, None]) -> None:
    """Do some work, unless the session is ended before it is done."""
    task = asyncio.create_task(work)
    await _first(ended, task)
    if task.done():
        task.result()
    task.cancel()
    await asyncio.wait({task})


async def _first(*some: "asyncio.Future[Any]") -> None:
    """Wait until one of some is done."""
    await asyncio.wait(some, return_when=asyncio.FIRST_COMPLETED)


class _Server(uvicorn.Server):
    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Leave signals to those who take leave of the page first."""
        yield


@contextmanager
def _signals(ended: "asyncio.Future[int]") -> Iterator[None]:
    """Have signals that end a process end the session; also a terminal that goes away."""
    loop = ended.get_loop()

    def end(number: int, frame: object) -> None:
        def note() -> None:
            if not ended.done():
                ended.set_result(number)

        loop.call_soon_threadsafe(note)

    names = ("SIGINT", "SIGTERM", "SIGHUP")
    caught = [getattr(signal, name) for name in names if hasattr(signal, name)]
    before = [(number, signal.signal(number, end)) for number in caught]
    try:
        yield
    finally:
        for number, handler in before:
            signal.signal(number, handler)


def application(session: Session, guard: Guard) -> ASGIApp:
    """What the server answers: the page, its socket, and an address that leads to it once."""

    async def enter(request: Request) -> Response:
        if request.method != "GET" or not guard.invited(request.query_params.get("token", "")):
            return PlainTextResponse(_used_up, 403)
        # The page leads on by itself: with a redirect a browser that was sent here by a link
        # elsewhere would keep the cookie back.
        page = f'<!doctype html><meta http-equiv="refresh" content="0;url={guard.path}">'
        return HTMLResponse(page, headers={"Set-Cookie": guard.cookie()})

    async def page(request: Request) -> Response:
        return HTMLResponse(
            live_page(socket_path=guard.socket_path, nonce=request.scope[_nonce])
        )

    async def talk(talking: WebSocket) -> None:
        await _talk(talking, session)

    routes = [
        Route("/", enter),
        Route(guard.path, page),
        WebSocketRoute(guard.socket_path, talk),
    ]
    return _Guarded(Starlette(routes=routes), guard)


class _Guarded:
    """Lets in what brings all it needs; says to all else as little as can be."""

    def __init__(self, inside: ASGIApp, guard: Guard) -> None:
        self._inside, self._guard = inside, guard

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        headers = list(scope["headers"])
        is_socket = scope["type"] == "websocket"
        known = self._guard.to_this_host(headers) and (
            (scope["path"] == "/" and not is_socket)
            or self._guard.lets_in(headers, socket=is_socket)
        )
        nonce = secrets.token_urlsafe(16)
        scope[_nonce] = nonce
        added = [
            (name.lower().encode(), value.encode())
            for name, value in security_headers(self._guard, nonce=nonce).items()
        ]

        async def guarded_send(said: Message) -> None:
            if said["type"] == "http.response.start":
                said["headers"] = [*said["headers"], *added]
            await send(said)

        if known:
            await self._inside(scope, receive, guarded_send)
        elif is_socket:
            await receive()
            await send({"type": "websocket.close", "code": _too_many})
        else:
            await PlainTextResponse("Not for you.\n", 403)(scope, receive, guarded_send)


async def _talk(talking: WebSocket, session: Session) -> None:
    """Take what one tab says, and have it told what it needs to know."""
    if len(session.tabs) >= most_tabs:
        await talking.close(_too_many, "too many tabs")
        return
    await talking.accept()
    tab = session.tabs.open()
    telling = asyncio.create_task(_tell(talking, tab))
    rate = Rate()
    try:
        while True:
            said = await talking.receive()
            if said["type"] != "websocket.receive":
                return
            given = _parsed(said.get("text"))
            if given is None or not rate.allows():
                why = _not_understood if given is None else _too_many
                words = "not understood" if given is None else "too many messages"
                await talking.close(why, words)
                return
            try:
                session.take(given, tab)
            except CaseError as error:
                tab.tell(message("refused", problems=plain(list(error.problems)), do=given))
    finally:
        session.tabs.close(tab)
        telling.cancel()
        await asyncio.wait({telling})


async def _tell(talking: WebSocket, tab: Tab) -> None:
    with suppress(WebSocketDisconnect, RuntimeError):  # it has gone meanwhile
        while True:
            text, arrays = await tab.next()
            await talking.send_text(text)
            if arrays is not None:
                await talking.send_bytes(arrays)


def _parsed(text: str | None) -> dict[str, Any] | None:
    """What a tab says: a mapping in JSON that can be said again; None if it is none."""
    if text is None:
        return None
    try:
        given = json.loads(text, parse_constant=_no_number)
        # Numbers without end, written as 1e999, are read and could not be written.
        json.dumps(given, allow_nan=False)
    except (ValueError, RecursionError):
        return None
    return given if isinstance(given, dict) else None


def _no_number(name: str) -> None:
    msg = f"{name} is no number"
    raise ValueError(msg)
