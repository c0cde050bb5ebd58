"""Many clients at once: no error, no lost write, and the server grows no fatter."""

from __future__ import annotations

import http.client
import json
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from lemel.serve import application
from lemel.serve.server import make_server

#: MB that the server may grow once it is warm.
_MOST_MB = 60


@dataclass
class Client:
    """One client: it weighs bags in, looks at them, and remembers what it was promised."""

    port: int
    name: str
    owner: str
    until: float
    weighed: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    asked: int = 0

    def run(self) -> None:
        """Until the time is up."""
        while time.monotonic() < self.until and not self.wrong:
            bag = f"{self.name}-{len(self.weighed)}"
            lot = {"id": bag, "owner": self.owner, "main": "Ag", "form": "sheet", "mass_g": 1.5}
            body = {"lots": [lot]}
            if self._ask("POST", "/api/lots", body, key=f"in-{bag}-00000") == 201:
                self.weighed.append(bag)
            # The answer was lost on the way: it is sent once more, and done once.
            self._ask("POST", "/api/lots", body, key=f"in-{bag}-00000")
            for path in ("/api/head", f"/api/lot?id={bag}", "/api/lots?most=20"):
                self._ask("GET", path)

    def _ask(self, method: str, path: str, body: object = None, key: str = "") -> int:
        headers = {"Content-Type": "application/json", "Idempotency-Key": key} if key else {}
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        try:
            link.request(method, path, json.dumps(body) if body else None, headers)
            answer = link.getresponse()
            said = answer.read()
        except OSError as fault:
            self.wrong.append(f"{path}: {fault!r}")
            return 0
        finally:
            link.close()
        self.asked += 1
        if answer.status >= 300:
            self.wrong.append(f"{path}: {answer.status} {said[:200]!r}")
        return answer.status


def _memory_mb() -> float:
    told = Path("/proc/self/status").read_text("ascii").split("VmRSS:")[1]
    return int(told.split()[0]) / 1024


def _load(api, clients: int, seconds: float) -> int:
    server = make_server(application(api.folder), 0)
    threading.Thread(target=server.run, daemon=True).start()
    owner = next(iter(api.book.owners()))
    before = api.book.head()[0]
    until = time.monotonic() + seconds
    all_of = [Client(server.effective_port, f"c{n}", owner, until) for n in range(clients)]
    threads = [threading.Thread(target=one.run) for one in all_of]
    for one in threads:
        one.start()
    time.sleep(seconds / 4)
    warm_mb = _memory_mb()
    for one in threads:
        one.join()
    grown_mb = _memory_mb() - warm_mb
    server.close()
    server.task_dispatcher.shutdown()
    assert not [said for one in all_of for said in one.wrong]
    weighed = [bag for one in all_of for bag in one.weighed]
    assert weighed
    assert api.book.head()[0] - before == len(weighed)
    assert set(weighed) <= {lot.id for lot in api.book.lots()}
    assert grown_mb < _MOST_MB, f"{grown_mb:.0f} MB more than when it was warm"
    assert api.book.audit().whole
    return sum(one.asked for one in all_of)


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="memory is read there")
def test_a_few_clients_at_once_lose_nothing(api):
    assert _load(api, clients=8, seconds=4) > 8


@pytest.mark.soak
def test_fifty_clients_for_two_minutes_lose_nothing(api):
    assert _load(api, clients=50, seconds=120) > 50
