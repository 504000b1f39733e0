"""The group of commands, and how every problem becomes a message and an exit code."""

from typing import Any

import click

from simulator.cli.band import band
from simulator.cli.causes import causes
from simulator.cli.check import check
from simulator.cli.compare import compare
from simulator.cli.desk import desk
from simulator.cli.doctor import doctor
from simulator.cli.dwelling import dwelling
from simulator.cli.exit_codes import FAILURE, INTERRUPTED
from simulator.cli.export import export
from simulator.cli.follow import follow
from simulator.cli.import_model import import_model
from simulator.cli.kinds import kinds
from simulator.cli.lesson import lesson
from simulator.cli.place import place
from simulator.cli.remedies import remedies
from simulator.cli.run import run
from simulator.cli.sheet import sheet
from simulator.cli.show import show
from simulator.cli.study import study
from simulator.errors import RoomsoakError


class Program(click.Group):
    """A group whose commands end with a message on stderr and an exit code, never a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; turn the errors that a user can cause into exit codes."""
        try:
            return super().invoke(ctx)
        except RoomsoakError as problem:
            click.echo(str(problem), err=True)
            ctx.exit(problem.exit_code)
        except KeyboardInterrupt:
            click.echo("interrupted", err=True)
            ctx.exit(INTERRUPTED)
        except MemoryError:
            click.echo("not enough memory; try larger cells, such as --cell '0.15 m'", err=True)
            ctx.exit(FAILURE)
        except BrokenPipeError:
            raise
        except OSError as problem:
            where = f"{problem.filename}: " if problem.filename else ""
            click.echo(f"{where}{problem.strerror or problem}", err=True)
            ctx.exit(FAILURE)


@click.group(
    cls=Program,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Exit codes: 0 done, 1 failure, 2 bad input, 3 ran but cold spots remain, "
    "130 interrupted with a checkpoint written.",
)
@click.version_option(package_name="roomsoak", prog_name="roomsoak")
def roomsoak() -> None:
    """Heat in furnished rooms: when each hiding place gets its lethal dose, and what stays cold."""


for command in (
    check,
    run,
    band,
    causes,
    remedies,
    place,
    compare,
    lesson,
    follow,
    show,
    sheet,
    export,
    import_model,
    desk,
    study,
    dwelling,
    kinds,
    doctor,
):
    roomsoak.add_command(command)


def main() -> None:
    """Run the command line."""
    roomsoak()
