"""The real command `ohmscape live` in a process of its own, and a page that speaks with it.

No browser: what a browser sends is written out, so that tests can leave any of it away.
"""

import http.client
import json
import os
import re
import signal
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path
from time import monotonic

from killing import started_by
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import connect

ROOT = Path(__file__).resolve().parent.parent
_address = re.compile(r"http://127\.0\.0\.1:(\d+)/\?token=(\S+)")
_most_seconds = 60.0  # for an answer, on a machine that does other things


class Live:
    """The command on a case, running; its page is not opened yet."""

    def __init__(self, case, *options):
        command = [sys.executable, "-m", "ohmscape", "live", str(case), "--no-open", *options]
        environment = os.environ | {"PYTHONUNBUFFERED": "1"}
        self.process = subprocess.Popen(
            command, cwd=ROOT, env=environment, text=True, encoding="utf-8",
            stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )  # fmt: skip
        self.said = ""
        for line in self.process.stdout:
            self.said += line
            if found := _address.search(line):
                self.port, self.token = int(found[1]), found[2]
                break
        else:
            self.errors = self.process.communicate(timeout=30)[1]
            self.port = 0

    @property
    def host(self):
        return f"127.0.0.1:{self.port}"

    def asked(self, path, *, method="GET", headers=()):
        """Status, headers and body of an answer to exactly these headers."""
        speaking = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        try:
            speaking.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in headers or [("Host", self.host)]:
                speaking.putheader(name, value)
            speaking.endheaders()
            answer = speaking.getresponse()
            return answer.status, dict(answer.getheaders()), answer.read().decode()
        finally:
            speaking.close()

    def enter(self):
        """Use the address up; path of the page and the cookie it gives."""
        status, headers, body = self.asked(f"/?token={self.token}")
        assert status == 200, body
        self.cookie = headers["set-cookie"].split(";")[0]
        self.path = re.search(r"url=(/p/[^/]+/)", body)[1]
        return self.path, self.cookie

    def tab(self, **given):
        """A socket of the page, entered before."""
        # Closed by the process that it speaks with, in the end.
        return Tab(connected(self, **given).__enter__())

    def workers(self):
        """Processes that it has started."""
        return started_by(self.process.pid)

    def ended(self, number=signal.SIGINT):
        """End it by a signal; its exit status and the rest of what it said."""
        self.process.send_signal(number)
        rest, errors = self.process.communicate(timeout=30)
        return self.process.returncode, rest, errors

    def kill(self):
        """Kill it, unless it has ended."""
        self.process.kill()
        self.process.wait(timeout=30)
        self.process.stdout.close()
        self.process.stderr.close()


def connected(live, *, path=None, cookie=None, origin=None, host=None):
    """A web socket, by what the browser would send unless told otherwise."""
    headers = {"Cookie": live.cookie if cookie is None else cookie}
    if origin != "":
        headers["Origin"] = f"http://{live.host}" if origin is None else origin
    if host is not None:
        headers["Host"] = host
    return connect(
        f"ws://{live.host}{path or live.path + 'live'}",
        additional_headers=headers,
        max_size=None,
        proxy=None,
    )


class Tab:
    """One tab: what it says, and what it has been told."""

    def __init__(self, socket):
        self.socket = socket
        self.told = []
        self.asked = 0

    def say(self, do, **given):
        self.socket.send(json.dumps({"do": do, **given}))

    def set(self, path, value, *, moving=False):
        self.say("set", path=path, value=value, moving=moving)

    def wait(self, *kinds, seconds=_most_seconds, until=lambda message: True):
        """The next message of a kind that is as wanted; others are remembered."""
        ends = monotonic() + seconds
        while (left := ends - monotonic()) > 0:
            said = json.loads(self.socket.recv(timeout=left))
            if said.get("arrays"):
                said["bytes"] = self.socket.recv(timeout=left)
            self.told.append(said)
            if said["say"] in kinds and until(said):
                return said
        raise TimeoutError(kinds)

    def done(self, do, **given):
        """Say it; the case that comes of it, or why it is refused."""
        self.say(do, **given)
        answer = self.wait("case", "refused")
        if answer["say"] == "case":
            number = answer["number"]
            self.wait("draft", "no draft", until=lambda said: said["number"] >= number)
        return answer

    def all_done(self):
        """Wait until all that was said so far is done."""
        self.asked += 1
        self.say("nothing", number=self.asked)
        wanted = {"do": "nothing", "number": self.asked}
        self.wait("refused", until=lambda said: said["do"] == wanted)

    def rest(self):
        """Whatever comes until the socket closes; how it was closed."""
        try:
            while True:
                said = self.socket.recv(timeout=_most_seconds)
                self.told.append(json.loads(said) if isinstance(said, str) else {"say": ""})
        except ConnectionClosed as closed:
            return closed.rcvd.code if closed.rcvd else None

    def close(self):
        self.socket.close()


@contextmanager
def live_on(case, *options):
    """The command on a case with its page entered; killed in the end."""
    live = Live(case, *options)
    assert live.port, live.errors
    try:
        live.enter()
        yield live
    finally:
        live.kill()
