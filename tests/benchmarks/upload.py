"""Memory of a dashboard while a large file is brought: `python -m tests.benchmarks.upload FILE` prints it."""

import argparse
import http.client
import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from urllib.request import urlopen

PORT = 8479
CHUNK_BYTES = 1024 * 1024


def memory_mb(process: int) -> float:
    """Memory in use of a process (VmRSS), in MB."""
    for line in Path(f"/proc/{process}/status").read_text().splitlines():
        if line.startswith("VmRSS"):
            return int(line.split()[1]) / 1000
    return 0.0


def wait_for(address: str, seconds: float = 60) -> None:
    until = time.monotonic() + seconds
    while True:
        try:
            urlopen(address, timeout=5).close()
            return
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.2)


def send(path: Path) -> tuple[int, dict]:
    connection = http.client.HTTPConnection("127.0.0.1", PORT, timeout=600)
    connection.putrequest("POST", f"/bring?name={path.name}")
    for name, value in (
        ("Content-Type", "application/octet-stream"),
        ("Content-Length", str(path.stat().st_size)),
        ("Origin", f"http://127.0.0.1:{PORT}"),
    ):
        connection.putheader(name, value)
    connection.endheaders()
    with path.open("rb") as stream:
        while chunk := stream.read(CHUNK_BYTES):
            connection.send(chunk)
    answer = connection.getresponse()
    return answer.status, json.loads(answer.read())


def measure(path: Path, store: str) -> dict[str, float]:
    """Bring a file to a dashboard of its own; memory before, highest during and after, and times."""
    serve = [sys.executable, "-m", "analytics.cli", "--data", store, "serve", "--port", str(PORT)]
    process = subprocess.Popen(serve, stderr=subprocess.DEVNULL)
    try:
        wait_for(f"http://127.0.0.1:{PORT}/data")
        time.sleep(2)
        before, highest, done = memory_mb(process.pid), 0.0, threading.Event()

        def look() -> None:
            nonlocal highest
            while not done.is_set():
                highest = max(highest, memory_mb(process.pid))
                time.sleep(0.05)

        watcher = threading.Thread(target=look)
        watcher.start()
        began = time.monotonic()
        status, answer = send(path)
        sent = time.monotonic() - began
        assert status == 201, (status, answer)
        token = answer["address"].split("=")[1]
        while json.loads(urlopen(f"http://127.0.0.1:{PORT}/bring/progress?file={token}").read())["goes_on"]:
            time.sleep(0.5)
        looked = time.monotonic() - began - sent
        done.set()
        watcher.join()
        return {
            "size_mb": path.stat().st_size / 1e6,
            "before_mb": before,
            "highest_mb": highest,
            "after_mb": memory_mb(process.pid),
            "sent_s": sent,
            "looked_at_s": looked,
        }
    finally:
        process.terminate()
        process.wait()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        print({name: round(value, 1) for name, value in measure(asked.file, folder).items()}, os.getloadavg())
