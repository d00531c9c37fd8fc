"""The command line. `thenar --help` must be quick, so each command is imported only when it is called."""

from dataclasses import dataclass
from importlib import import_module
from typing import Any

import click

from thenar import __version__
from thenar.errors import BadInput, Conflict, NotAllowed, ThenarError


@dataclass(frozen=True, slots=True)
class Lazy:
    """Where something stands, as module:attribute, and what it does, in one line."""

    where: str
    does: str

    def load(self) -> Any:
        """Import it."""
        module, attribute = self.where.split(":")
        return getattr(import_module(module), attribute)


COMMANDS = {
    "calc": Lazy("thenar.cli.calc:calc", "Compute something from JSON on standard input."),
    "demo": Lazy("thenar.cli.demo:demo", "Build the invented hospital Saltmere, and serve it here."),
    "extract": Lazy("thenar.cli.extract:extract", "Write the records without names, for population methods."),
    "import": Lazy(
        "thenar.cli.imports:imports", "Read in lists from other systems: staff, sessions, products."
    ),
    "knowledge": Lazy("thenar.cli.knowledge:knowledge", "List, show and verify the rules and their sources."),
    "migrate": Lazy("thenar.cli.serve:migrate", "Bring the database up to this version."),
    "release": Lazy("thenar.cli.release:release", "Look at figures before they leave the service."),
    "report": Lazy(
        "thenar.cli.report:report", "Print an area's loads, verdicts and controls, as JSON or PDF."
    ),
    "serve": Lazy("thenar.cli.serve:serve", "Serve the pages."),
}


class House(click.Group):
    """The commands of `COMMANDS`; an error a person may see is told in three lines, without a traceback."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Names of all commands."""
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import the command of that name, if there is one."""
        command: click.Command | None = COMMANDS[cmd_name].load() if cmd_name in COMMANDS else None
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing any."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name].does) for name in self.list_commands(ctx)])

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; tell a known error and leave with its exit code."""
        try:
            return super().invoke(ctx)
        except ThenarError as problem:
            tell(problem)
            ctx.exit(exit_code(problem))


@click.group(cls=House)
@click.version_option(__version__, prog_name="thenar")
def main() -> None:
    """For the occupational-health practitioner who keeps a hospital's hands healthy.

    Leaves with 0 when done, 2 for input or rules that can't be used, 3 when it is not allowed, 4 when
    something else happened first, 1 for any other refusal.
    """


def tell(problem: ThenarError) -> None:
    """Print what happened, why it matters and what to do, one line each, to standard error."""
    for words in (problem.what, problem.why, problem.todo):
        click.echo(" ".join(words.split()), err=True)


def exit_code(problem: ThenarError) -> int:
    """The exit code that scripts can rely on."""
    from thenar.knowledge import KnowledgeError

    if isinstance(problem, (BadInput, KnowledgeError)):
        return 2
    if isinstance(problem, NotAllowed):
        return 3
    return 4 if isinstance(problem, Conflict) else 1
