"""A browser spoken to over a pipe in its own debugging protocol: quick enough for thousands of steps, and to be killed.

Import as `from form_pipe import ...`; the tests folder is on the path (see pyproject.toml). The driver of the other
browser tests is not used here: it restarts and tidies up after a crash, and the crash is what is to be tested.
"""

from __future__ import annotations

import contextlib
import itertools
import json
import os
import select
import signal
import subprocess
import time
from pathlib import Path

from form_browser import CHROMIUM

FLAGS = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--disable-extensions", "--lang=en-GB",
    "--disable-dev-shm-usage", "--remote-debugging-pipe", "--process-per-tab", "--window-size=390,780",
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE localhost",
)  # fmt: skip
PATIENCE_S = 60.0


class Gone(Exception):
    """The page or the browser ended before it answered."""


class Refused(Exception):
    """The browser answered a command with a fault."""


class Browser:
    """One browser process on a profile folder."""

    def __init__(self, profile: Path, more: tuple[str, ...] = ()):
        theirs_in, self.to = os.pipe()
        self.of, theirs_out = os.pipe()

        def as_3_and_4() -> None:
            spare_in, spare_out = os.dup(theirs_in), os.dup(theirs_out)
            os.dup2(spare_in, 3)
            os.dup2(spare_out, 4)

        # pass_fds keeps 3 and 4 open through the start of the program
        with open(os.devnull, "rb") as nothing:
            self.process = subprocess.Popen(
                [CHROMIUM, *FLAGS, *more, f"--user-data-dir={profile}", "about:blank"], stdin=nothing,
                stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, preexec_fn=as_3_and_4, close_fds=False,
                start_new_session=True,
            )  # fmt: skip
        os.close(theirs_in)
        os.close(theirs_out)
        self.numbers = itertools.count(1)
        self.rest = b""
        self.answers: dict[int, dict] = {}
        self.crashed: set[str] = set()  # targets whose renderer died
        self.sessions: dict[str, str] = {}  # target of a session
        self.dialogs: list[str] = []
        self.targets: set[str] = set()
        self.ask("Target.setDiscoverTargets", discover=True)

    # ---- messages

    def send(self, method: str, session: str | None = None, **values) -> int:
        """Send a command without waiting; its number."""
        number = next(self.numbers)
        message = {"id": number, "method": method, "params": values}
        if session:
            message["sessionId"] = session
        try:
            os.write(self.to, json.dumps(message).encode() + b"\0")
        except OSError as error:
            raise Gone(method) from error
        return number

    def read(self, patience: float) -> bool:
        """Take in what has come, waiting at most so long; whether anything has."""
        ready, _, _ = select.select([self.of], [], [], patience)
        if not ready:
            return False
        piece = os.read(self.of, 1 << 20)
        if not piece:
            raise Gone("the browser has ended")
        *whole, self.rest = (self.rest + piece).split(b"\0")
        for text in whole:
            self._take(json.loads(text))
        return True

    def _take(self, message: dict) -> None:
        if "id" in message:
            self.answers[message["id"]] = message
            return
        values, method = message["params"], message["method"]
        if method == "Target.targetCrashed":
            self.crashed.add(values["targetId"])
        elif method == "Target.targetCreated" and values["targetInfo"]["type"] == "page":
            self.targets.add(values["targetInfo"]["targetId"])
        elif method == "Target.targetDestroyed":
            self.targets.discard(values["targetId"])
        elif method == "Page.javascriptDialogOpening":
            self.dialogs.append(values["message"])
            self.send("Page.handleJavaScriptDialog", message["sessionId"], accept=True)

    def wait(self, number: int, target: str | None = None, patience: float = PATIENCE_S) -> dict:
        """The answer to a command; `Gone` where its page died first."""
        until = time.monotonic() + patience
        while number not in self.answers:
            if target and target in self.crashed:
                raise Gone("the page has ended")
            if time.monotonic() > until:
                raise Gone(f"no answer within {patience} s")
            self.read(0.05)
        answer = self.answers.pop(number)
        if "error" in answer:
            raise Refused(answer["error"]["message"])
        return answer["result"]

    def ask(self, method: str, session: str | None = None, target: str | None = None, **values) -> dict:
        return self.wait(self.send(method, session, **values), target)

    # ---- its life

    def new_tab(self, tries: int = 5) -> Tab:
        """A tab with nothing in it; another one where it ends before it was used."""
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        try:
            return Tab(self, target)
        except Gone:
            if target not in self.crashed or tries <= 1:
                raise
            return self.new_tab(tries - 1)

    def close_all_but(self, tab: Tab) -> None:
        """Close every other tab and wait until each is gone: its last writing must not come after a wipe."""
        for target in list(self.targets - {tab.target}):
            with contextlib.suppress(Refused):
                self.ask("Target.closeTarget", targetId=target)
        until = time.monotonic() + PATIENCE_S
        while self.targets - {tab.target} and time.monotonic() < until:
            self.read(0.05)

    def renderers(self) -> list[int]:
        told = self.ask("SystemInfo.getProcessInfo")["processInfo"]
        return [one["id"] for one in told if one["type"] == "renderer"]

    def kill(self) -> None:
        """End it as a power switch would: no page hears of it, nothing is put away."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        with contextlib.suppress(ProcessLookupError):  # what it started; a session of its own, so nobody else's
            os.killpg(self.process.pid, signal.SIGKILL)
        self._shut()

    def close(self) -> None:
        """Ask it to end, as a person does."""
        with contextlib.suppress(Gone, Refused):
            self.ask("Browser.close")
        try:
            self.process.wait(15)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        self._shut()

    def _shut(self) -> None:
        for pipe in (self.to, self.of):
            with contextlib.suppress(OSError):
                os.close(pipe)


class Tab:
    """One page of a browser."""

    def __init__(self, browser: Browser, target: str):
        self.browser, self.target = browser, target
        self.session = browser.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        self.ask("Page.enable")
        self.ask("Runtime.enable")

    def send(self, method: str, **values) -> int:
        return self.browser.send(method, self.session, **values)

    def ask(self, method: str, **values) -> dict:
        return self.browser.ask(method, self.session, self.target, **values)

    def js(self, expression: str):
        """The value of an expression in the page, waited for where it is a promise."""
        told = self.ask("Runtime.evaluate", expression=expression, awaitPromise=True, returnByValue=True)
        if "exceptionDetails" in told:
            raise Refused(json.dumps(told["exceptionDetails"])[:2000])
        return told["result"].get("value")

    def until(self, expression: str, patience: float = PATIENCE_S):
        """Wait until an expression is true in the page."""
        limit = time.monotonic() + patience
        while True:
            with contextlib.suppress(Refused):  # between two pages there is nothing to ask
                found = self.js(expression)
                if found:
                    return found
            if time.monotonic() > limit:
                raise Gone(f"never true: {expression}")
            time.sleep(0.01)

    def key(self, letter: str) -> int:
        """Press a key without waiting; the answer comes once the page has dealt with it."""
        return self.send("Input.dispatchKeyEvent", type="keyDown", text=letter, key=letter, unmodifiedText=letter)

    @property
    def dead(self) -> bool:
        return self.target in self.browser.crashed

    def close(self) -> None:
        self.browser.ask("Target.closeTarget", targetId=self.target)
