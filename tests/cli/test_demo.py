"""`thenar demo`, `thenar serve`, `thenar migrate`: what they build, reuse, refuse and stop."""

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.error import HTTPError, URLError
from urllib.request import HTTPCookieProcessor, build_opener

import pytest
from click.testing import CliRunner

from thenar.cli import main
from thenar.cli.serve import server_command

THENAR = [sys.executable, "-c", "from thenar.cli import main; main()"]


def environment(folder: Path, **more: str) -> dict[str, str]:
    """This process's environment, without what would point the command elsewhere."""
    ours = {name: value for name, value in os.environ.items() if not name.startswith(("THENAR_", "DJANGO_"))}
    return {**ours, "THENAR_DATA": str(folder), **more}


def thenar(*words: str, folder: Path, **more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*THENAR, *words],
        check=False,
        env=environment(folder, **more),
        capture_output=True,
        text=True,
        timeout=180,
    )


def started(*words: str, folder: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [*THENAR, *words],
        env=environment(folder, PYTHONUNBUFFERED="1"),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


# What is refused


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7", "saltmere.example", ""])
def test_the_demo_is_never_served_to_other_machines(host: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("THENAR_DEMO", "1")
    answer = CliRunner().invoke(main, ["serve", "--host", host])
    assert answer.exit_code == 3
    assert f"The demo can't be served on {host!r}." in answer.output
    assert "--host 127.0.0.1" in answer.output


def test_the_demo_command_takes_no_host() -> None:
    answer = CliRunner().invoke(main, ["demo", "--serve", "--host", "0.0.0.0"])
    assert answer.exit_code == 2
    assert "--host" in answer.output


@pytest.mark.parametrize("words", [["demo", "--serve"], ["serve"]])
def test_a_port_in_use_is_named_before_anything_is_built(words: list[str], tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = str(other.getsockname()[1])
        answer = thenar(*words, "--port", port, folder=tmp_path / "data")
    assert answer.returncode == 4
    assert f"Port {port} on 127.0.0.1 can't be used" in answer.stderr
    assert "another port with --port" in answer.stderr
    assert not (tmp_path / "data").exists()


def test_the_server_is_bound_to_the_address_that_was_checked() -> None:
    command = server_command("127.0.0.1", 8017)
    assert command[command.index("--bind") + 1] == "127.0.0.1:8017"


@pytest.mark.slow
def test_a_database_that_is_behind_is_not_served_until_it_is_migrated(tmp_path: Path) -> None:
    port = str(free_port())
    refused = thenar("serve", "--port", port, folder=tmp_path)
    assert refused.returncode == 4
    assert "thenar migrate" in refused.stderr
    migrated = thenar("migrate", folder=tmp_path)
    assert (migrated.returncode, migrated.stdout) == (0, "The database is up to date.\n")
    with serving("serve", "--port", port, folder=tmp_path) as server:
        wait_for(f"http://127.0.0.1:{port}/sign-in/", server)


@pytest.mark.slow
@pytest.mark.parametrize("fresh", [[], ["--fresh"]])
def test_a_folder_with_other_records_is_left_alone(fresh: list[str], tmp_path: Path) -> None:
    assert thenar("migrate", folder=tmp_path).returncode == 0
    real = (
        "import django; django.setup(); from thenar.records.models import Worker; "
        "Worker.objects.create(staff_number='1', family_name='Real'); "
    )
    run_python(real, tmp_path)
    refused = thenar("demo", *fresh, folder=tmp_path)
    assert refused.returncode == 4
    assert "nothing was changed" in refused.stderr
    left = real.partition("Worker.objects")[0] + "print(Worker.objects.count())"
    assert run_python(left, tmp_path) == "1\n"


def run_python(code: str, folder: Path) -> str:
    env = environment(folder, DJANGO_SETTINGS_MODULE="thenar.site.settings")
    return subprocess.run(
        [sys.executable, "-c", code], env=env, capture_output=True, text=True, check=True
    ).stdout


# The demo from nothing to its pages: built, cut short, built again, reused, served, stopped


@pytest.mark.slow
def test_a_build_that_was_killed_is_done_again_a_finished_one_is_kept_and_served(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    with started("demo", folder=folder) as killed:
        assert killed.stdout is not None
        for line in killed.stdout:
            if line.startswith("Writing"):
                time.sleep(0.4)
                killed.kill()
    assert killed.returncode == -signal.SIGKILL

    built = thenar("demo", folder=folder, THENAR_DATABASE_URL="postgresql://nobody@192.0.2.1/real")
    assert built.returncode == 0, built.stderr
    assert "THENAR_DATABASE_URL is not used" in built.stdout
    assert "2,400 workers, 40 areas" in built.stdout
    assert " products." in built.stdout
    assert "Three workers on Today" in built.stdout
    for who in ("practitioner", "clerk", "manager", "worker", "administrator"):
        assert f"http://127.0.0.1:8017/demo/{who}/" in built.stdout

    port = str(free_port())
    with serving("demo", "--serve", "--port", port, folder=folder) as server:
        assert server.stdout is not None
        assert server.stdout.readline().startswith("Saltmere stands ready in")
        here = f"http://127.0.0.1:{port}"
        wait_for(f"{here}/sign-in/", server)
        browser = build_opener(HTTPCookieProcessor())
        with browser.open(f"{here}/demo/practitioner/") as page:
            assert page.url == f"{here}/today/"
            assert "Saltmere is invented" in page.read().decode()
        with browser.open(f"{here}/static/thenar/thenar.css") as style:
            assert style.headers["Content-Type"].startswith("text/css")
        with browser.open(f"{here}/static/thenar/fonts/atkinson-next-regular-latin.woff2") as font:
            assert font.read(4) == b"wOF2"


class serving:  # noqa: N801  reads as a phrase: with serving(...)
    """A server while its block runs; afterwards Ctrl-C must stop it cleanly, with nothing left listening."""

    def __init__(self, *words: str, folder: Path) -> None:
        self.words, self.folder = words, folder

    def __enter__(self) -> subprocess.Popen[str]:
        self.process = started(*self.words, folder=self.folder)
        return self.process

    def __exit__(self, failed: object, *_: object) -> None:
        self.process.send_signal(signal.SIGINT)
        try:
            said, _err = self.process.communicate(timeout=20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            raise
        if failed is None:
            assert self.process.returncode == 0, said
            assert "Traceback" not in said


def wait_for(url: str, server: subprocess.Popen[str]) -> None:
    for _ in range(300):
        assert server.poll() is None, "the server ended before it answered"
        try:
            build_opener().open(url).close()
        except HTTPError:
            raise
        except URLError:
            time.sleep(0.1)
        else:
            return
    raise AssertionError(f"{url} did not answer")
