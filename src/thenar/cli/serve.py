"""`thenar serve` and `thenar migrate`: the web server, and the database it needs."""

import ipaddress
import os
import socket
import sys

import click

from thenar.errors import BadInput, Conflict, NotAllowed

HOST, PORT = "127.0.0.1", 8017


@click.command()
@click.option("--host", default=HOST, show_default=True, help="Address to listen on.")
@click.option("--port", default=PORT, show_default=True, type=click.IntRange(1, 65535))
def serve(host: str, port: int) -> None:
    """Serve the pages with the settings of the environment, until Ctrl-C.

    Style sheets, fonts and scripts are served too. Put a web server that speaks TLS before it.
    """
    refuse_open_demo(host)
    refuse_taken(host, port)
    start_django()
    refuse_old_database()
    click.echo(f"Serving on {address(host, port)} (Ctrl-C stops it).")
    run_server(host, port)


@click.command()
def migrate() -> None:
    """Bring the database up to this version, or make it."""
    from django.core.management import call_command

    start_django()
    call_command("migrate", interactive=False, verbosity=0)
    click.echo("The database is up to date.")


def start_django() -> None:
    """Load Django with the settings that the environment names by now."""
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "thenar.site.settings")
    django.setup()


def refuse_open_demo(host: str) -> None:
    """Refuse to show the demo to other machines: its doors sign in whoever comes."""
    if os.environ.get("THENAR_DEMO") == "1" and not is_loopback(host):
        raise NotAllowed(
            what=f"The demo can't be served on {host!r}.",
            why="Its doors sign anyone in, so only this machine may reach it.",
            todo="Use --host 127.0.0.1, or unset THENAR_DEMO to serve real records.",
        )


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach that address. A name other than localhost counts as reachable.

    Examples
    --------
    >>> is_loopback("127.0.0.1"), is_loopback("::1"), is_loopback("0.0.0.0"), is_loopback("saltmere")
    (True, True, False, False)
    """
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def refuse_taken(host: str, port: int) -> None:
    """Refuse an address where something else listens, or that is not this machine's."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host.strip("[]"), port))
        except PermissionError:
            raise _unusable(host, port, "is reserved for the system") from None
        except socket.gaierror:
            raise BadInput(
                what=f"There is no address {host!r}.",
                why="The server needs one of this machine's addresses.",
                todo="Use --host 127.0.0.1, or an address of this machine.",
            ) from None
        except OSError as problem:
            raise _unusable(host, port, f"can't be used ({problem.strerror or problem})") from None


def _unusable(host: str, port: int, state: str) -> Conflict:
    return Conflict(
        what=f"Port {port} on {host} {state}.",
        why="Two programs can't listen in one place.",
        todo="Stop the other program, or choose another port with --port (with make: PORT=).",
    )


def refuse_old_database() -> None:
    """Refuse to serve over a database that is behind this version."""
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    behind = executor.migration_plan(executor.loader.graph.leaf_nodes())
    connection.close()
    if behind:
        raise Conflict(
            what=f"The database is behind this version by {len(behind)} steps.",
            why="Pages would read and write what is not there.",
            todo="Make a backup, run `thenar migrate`, then serve again.",
        )


def run_server(host: str, port: int) -> None:
    """Become the web server: this process is replaced, so that Ctrl-C goes straight to it."""
    sys.stdout.flush()
    sys.stderr.flush()
    os.execv(sys.executable, server_command(host, port))  # noqa: S606  our own interpreter, no shell


def server_command(host: str, port: int) -> list[str]:
    """How the web server is started: two processes, each with a few threads.

    Examples
    --------
    >>> server_command("::1", 8017)[-2:]
    ['[::1]:8017', 'thenar.site.wsgi']
    """
    bound = address(host, port).removeprefix("http://")
    quiet = "-W ignore:No.directory"  # nothing is collected: files are served from where they are shipped
    size = "--workers 2 --threads 4 --log-level warning --no-control-socket"
    return [sys.executable, *f"{quiet} -m gunicorn {size} --bind {bound} thenar.site.wsgi".split()]


def address(host: str, port: int) -> str:
    """The address as a browser takes it."""
    return f"http://[{host.strip('[]')}]:{port}" if ":" in host else f"http://{host}:{port}"
