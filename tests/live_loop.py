"""The live page with a loop in place of its program, which answers the messages of the page."""

import base64
import copy
import json
import math

from ohmscape.cases.fitting import fit_soil
from ohmscape.cases.loading import case_from
from ohmscape.jobs.drafting import Drafter
from ohmscape.jobs.run import run_case
from ohmscape.solver.errors import OhmscapeError
from ohmscape.viz.live.page import live_page
from ohmscape.viz.live.payload import case_payload, confirmed_payload, draft_payload

# In place of the browser's own sockets: what the page sends goes to the loop, whose answers
# come as messages.
_socket = """
window.sentToLoop = [];
window.WebSocket = class extends EventTarget {
  constructor() {
    super();
    this.readyState = 1;
    window.liveSocket = this;
    setTimeout(() => this.send('{"do": "open"}'), 0);
  }
  async send(text) {
    window.sentToLoop.push(JSON.parse(text));
    for (const [message, bytes] of await window.loop(text)) this.give(message, bytes);
  }
  give(message, bytes) {
    this.dispatchEvent(new MessageEvent("message", { data: message }));
    if (!bytes) return;
    const data = Uint8Array.from(atob(bytes), (c) => c.charCodeAt(0)).buffer;
    this.dispatchEvent(new MessageEvent("message", { data }));
  }
};
"""


class Loop:
    """A case with its edits, and what the page is told of them."""

    def __init__(self, content, *, file="case.yaml"):
        self.states, self.at, self.number = [content], 0, 0
        self.file, self.drafter = file, Drafter()
        self.moving = None
        self.sent = []

    @property
    def content(self):
        return self.states[self.at]

    def case(self):
        return fit_soil(case_from(self.content))

    def __call__(self, text):
        message = json.loads(text)
        self.sent.append(message)
        answers = []
        if message["do"] in ("set", "add", "remove"):
            before = copy.deepcopy(self.content)
            after = copy.deepcopy(self.content)
            *owners, last = message["path"]
            owner = after
            for step in owners:
                owner = owner[step]
            if message["do"] == "set":
                owner[last] = message["value"]
            elif message["do"] == "add":
                owner[last].append(message["value"])
            else:
                del owner[last]
            try:
                fit_soil(case_from(after))
            except OhmscapeError as error:
                found = [
                    {"place": one.path, "line": one.line, "message": one.message}
                    for one in error.problems
                ]
                return self.packed(
                    [({"say": "refused", "problems": found, "do": message}, b"")]
                )
            if self.moving is None:
                self.states = [*self.states[: self.at], before, after]
                self.at += 1
            else:
                self.states[self.at] = after
            self.moving = True if message.get("moving") else None
            self.number += 1
        elif message["do"] == "undo":
            self.at, self.number = max(0, self.at - 1), self.number + 1
        elif message["do"] == "redo":
            self.at, self.number = min(len(self.states) - 1, self.at + 1), self.number + 1
        answers.append((self.told(), b""))
        draft, numbers = draft_payload(
            self.drafter.draft(self.case(), moving=self.moving is not None)
        )
        answers.append(({"say": "draft", "number": self.number, **draft}, numbers))
        return self.packed(answers)

    def told(self):
        changes = [{"words": "changed"}] * self.at
        return {
            "say": "case",
            "number": self.number,
            "case": case_payload(self.case()),
            "changes": changes,
            "undo": self.at,
            "redo": len(self.states) - 1 - self.at,
            "variants": [],
            "variant": None,
            "saved": self.at == 0,
            "settled": self.moving is None,
            "file": self.file,
            "taken_up": 0,
        }

    def confirmed(self):
        """What the finite elements say of the case as it is now."""
        header, numbers = confirmed_payload(run_case(self.case(), accuracy="coarse"))
        return self.packed([({"say": "confirmed", "number": self.number, **header}, numbers)])

    @staticmethod
    def packed(answers):
        return [
            [json.dumps(message, allow_nan=False), base64.b64encode(numbers).decode()]
            for message, numbers in answers
        ]


def opened(page, loop):
    """The live page on a loop."""
    page.expose_function("loop", loop)
    page.add_init_script(_socket)
    page.route(
        "http://live.test/",
        lambda route: route.fulfill(
            body=live_page(socket_path="/p/x/live", nonce="n"), content_type="text/html"
        ),
    )
    page.goto("http://live.test/")
    page.wait_for_function("document.querySelector('#resistance').dataset.value > 0")
    return page


def value(page, selector):
    return float(page.locator(selector).get_attribute("data-value"))


def settled(page, number):
    page.wait_for_function(
        f"Number(document.querySelector('#resistance').dataset.number) >= {number}"
    )


def give(page, answers):
    for message, numbers in answers:
        page.evaluate("([m, b]) => window.liveSocket.give(m, b)", [message, numbers])


def near(one, other, *, share):
    return math.isclose(one, other, rel_tol=share)
