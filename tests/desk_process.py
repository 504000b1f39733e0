"""A desk as a process of its own, as a user starts it."""

import json
import os
import subprocess
import sys
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any


class DeskProcess:
    """A running desk, its folder and its address, such as ``http://127.0.0.1:1234/``."""

    def __init__(self, folder: Path, *options: str) -> None:
        self.folder = folder
        command = [sys.executable, "-m", "simulator.cli", "desk", "--no-browser", *options]
        self.process = subprocess.Popen(
            [*command, "--folder", str(folder)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ},
        )
        assert self.process.stdout is not None
        self.address = self.process.stdout.readline().strip()

    def ask(self, path: str, body: Mapping[str, Any] | None = None) -> Any:
        """Return the JSON of an answer; a body makes it a POST."""
        data = None if body is None else json.dumps(body).encode()
        headers = {"content-type": "application/json"} if data else {}
        request = urllib.request.Request(f"{self.address}{path}", data, headers)
        with urllib.request.urlopen(request, timeout=30) as answer:
            return json.loads(answer.read())

    def kill(self) -> None:
        """End the process without a chance to tidy up."""
        self.process.kill()
        self.process.communicate()

    def end(self) -> str:
        """End the process as Ctrl-C does and return what it said on stderr."""
        if self.process.poll() is None:
            self.process.terminate()
        try:
            return self.process.communicate(timeout=20)[1]
        except subprocess.TimeoutExpired:
            self.kill()
            raise


@contextmanager
def desk_process(folder: Path, *options: str) -> Iterator[DeskProcess]:
    """Yield a running desk."""
    desk = DeskProcess(folder, *options)
    try:
        yield desk
    finally:
        desk.end()
