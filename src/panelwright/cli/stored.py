"""Commands on the store: import, export, list, backup, restore, verify."""

from __future__ import annotations

import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from panelwright.cli.ask import DONE, INVALID, guarded, say_json

if TYPE_CHECKING:
    from collections.abc import Callable

    from panelwright.store import Imported, Place, Store, Verified

F = TypeVar("F", bound="Callable[..., None]")

_ENDINGS = (".zip", ".jsonl", ".toml")


def store_options(command: F) -> F:
    """Add the options that say where the store is."""
    data = click.option(
        "--data",
        metavar="FOLDER",
        envvar="PANELWRIGHT_DATA",
        help="Where repairs and photos are stored; left out: this platform's data folder.",
    )
    database = click.option(
        "--database",
        metavar="URL",
        envvar="PANELWRIGHT_DATABASE",
        help="A PostgreSQL database instead of a file: postgresql+psycopg://user@host:5432/name",
    )
    return data(database(command))


JSON = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")


def place(data: str | None, database: str | None) -> Place:
    """Give the place that the options name."""
    from panelwright.store import place_of  # noqa: PLC0415

    return place_of(data, database)


def _opened(data: str | None, database: str | None, *, make: bool = False) -> Store:
    from panelwright.store import open_store  # noqa: PLC0415

    return open_store(place(data, database), make=make)


def _end(work: Callable[[], int], *, as_json: bool = False) -> None:
    status = guarded(work, as_json=as_json)
    sys.stdout.flush()
    click.get_current_context().exit(status)


def _somebody() -> str:
    import getpass  # noqa: PLC0415

    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):  # no such user on this machine
        return "unknown"


def _count(number: int, one: str, many: str | None = None) -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


@click.command(name="import")
@click.argument("file", metavar="FILE")
@click.option("--as", "name", metavar="NAME", help="Store it under this name.")
@click.option("--by", metavar="WHO", help="Who says what a repair file says; left out: this user.")
@store_options
def import_(
    file: str, name: str | None, by: str | None, data: str | None, database: str | None
) -> None:
    """Store a repair file, or a repair that was exported: .zip with its photos, .jsonl without."""
    _end(partial(_import, file, name, by or _somebody(), data, database))


def _import(file: str, name: str | None, by: str, data: str | None, database: str | None) -> int:
    from panelwright.cli.load import text_of  # noqa: PLC0415
    from panelwright.facts.log import log_from  # noqa: PLC0415

    ending = Path(file).suffix.lower()
    if ending == ".zip":
        with _opened(data, database, make=True) as store:
            return _say_imported(store.import_repair(Path(file), name=name))
    text = text_of(file)
    with _opened(data, database, make=True) as store:
        if ending == ".jsonl":
            return _say_imported(store.import_log(log_from(text.encode()), name=name))
        return _say_imported(store.import_text(text, person=by, name=name))


def _say_imported(done: Imported) -> int:
    said = done.appended
    there = len(said.numbers) - said.added
    click.echo(
        f"{done.name}: {_count(said.added, 'fact')} stored"
        + (f", {_count(there, 'was', 'were')} there already" if there else "")
        + (f", {_count(done.photos, 'photo')}" if done.photos else "")
        + f"; log ends with {said.log_head[:12]}"
    )
    return DONE


@click.command()
@click.argument("name", metavar="REPAIR")
@click.option(
    "-o",
    "--output",
    metavar="OUT",
    help="NAME.zip: log, photos and hashes; NAME.jsonl: the log; NAME.toml: the repair file "
    "(- prints it). Left out: REPAIR.zip.",
)
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@store_options
def export(
    name: str,
    output: str | None,
    force: bool,
    data: str | None,
    database: str | None,
) -> None:
    """Write a stored repair to a file that another store can import."""
    _end(partial(_export, name, output or f"{name}.zip", data, database, force=force))


def _export(name: str, output: str, data: str | None, database: str | None, *, force: bool) -> int:
    from panelwright.errors import StoreError  # noqa: PLC0415

    target = Path(output)
    ending = ".toml" if output == "-" else target.suffix.lower()
    if ending not in _ENDINGS:
        raise StoreError(f"{output}: expected a name that ends in {', '.join(_ENDINGS)}, or -")
    if output != "-" and target.exists() and not force:
        raise StoreError(f"{output} is there already; name another file or use --force")
    with _opened(data, database) as store:
        facts = _write(store, name, target, ending, printed=output == "-")
    if output != "-":
        click.echo(f"{output}: {name} with {_count(facts, 'fact')}")
    return DONE


def _write(store: Store, name: str, target: Path, ending: str, *, printed: bool) -> int:
    """Write a repair in the form that the ending names; give the number of its facts."""
    from panelwright.facts.log import log_bytes  # noqa: PLC0415
    from panelwright.store.durable import written  # noqa: PLC0415
    from panelwright.store.trouble import in_words  # noqa: PLC0415

    if ending == ".zip":
        return len(store.export_repair(name, target).entries)
    stored = store.resolve(name)
    if printed:
        click.echo(stored.text, nl=False)
        return len(stored.log.entries)
    content = stored.text.encode() if ending == ".toml" else log_bytes(stored.log)
    with in_words(target.parent), written(target) as file:
        file.write(content)
    return len(stored.log.entries)


@click.command(name="list")
@JSON
@store_options
def list_(as_json: bool, data: str | None, database: str | None) -> None:
    """List the stored repairs."""
    _end(partial(_list, data, database, as_json=as_json), as_json=as_json)


def _list(data: str | None, database: str | None, *, as_json: bool) -> int:
    with _opened(data, database) as store:
        repairs = store.repairs()
    if as_json:
        rows = [
            {
                "name": one.name,
                "facts": one.facts,
                "head": one.head,
                "recorded_at": one.recorded_at and one.recorded_at.isoformat(),
            }
            for one in repairs
        ]
        say_json({"repairs": rows})
        return DONE
    from panelwright.cli.text import table  # noqa: PLC0415

    lines = [
        (
            one.name,
            str(one.facts),
            f"{one.recorded_at:%Y-%m-%d %H:%M %z}" if one.recorded_at else "",
        )
        for one in repairs
    ]
    empty = "No repair is stored yet; `panelwright import FILE` begins."
    click.echo(table(("repair", "facts", "last fact"), lines, align="<><") if lines else empty)
    return DONE


@click.command()
@click.argument("target", metavar="BACKUP.zip")
@store_options
def backup(target: str, data: str | None, database: str | None) -> None:
    """Write everything that is stored to one file; works while the program serves."""
    _end(partial(_backup, target, data, database))


def _backup(target: str, data: str | None, database: str | None) -> int:
    with _opened(data, database) as store:
        done = store.back_up(Path(target))
    click.echo(f"{target}: {_whole(done.verified)}")
    return _say_broken(done.verified)


@click.command()
@click.argument("source", metavar="BACKUP.zip")
@store_options
def restore(source: str, data: str | None, database: str | None) -> None:
    """Verify a backup and put it in the place of what is stored, which is kept beside it."""
    _end(partial(_restore, source, data, database))


def _restore(source: str, data: str | None, database: str | None) -> int:
    from datetime import UTC, datetime  # noqa: PLC0415

    from panelwright.store import restore as put_back  # noqa: PLC0415

    done = put_back(place(data, database), Path(source), moment=datetime.now(UTC))
    click.echo(f"Restored: {_whole(done.verified)}.")
    for kept in done.kept:
        click.echo(f"What was stored before is kept: {kept}")
    return _say_broken(done.verified)


@click.command()
@JSON
@store_options
def verify(as_json: bool, data: str | None, database: str | None) -> None:
    """Walk all logs and photos, compare every hash, and say what broke."""
    _end(partial(_verify, data, database, as_json=as_json), as_json=as_json)


def _verify(data: str | None, database: str | None, *, as_json: bool) -> int:
    with _opened(data, database) as store:
        verified = store.verify()
    if not as_json:
        click.echo(f"Looked at {_whole(verified)}.")
        return _say_broken(verified)
    say_json(
        {
            "repairs": [vars(head) for head in verified.heads],
            "photos": len(verified.photos),
            "broken": [vars(one) for one in verified.broken],
        }
    )
    return INVALID if verified.broken else DONE


def _whole(verified: Verified) -> str:
    return ", ".join(
        (
            _count(len(verified.heads), "repair"),
            _count(verified.facts, "fact"),
            _count(len(verified.photos), "photo"),
        )
    )


def _say_broken(verified: Verified) -> int:
    if not verified.broken:
        return DONE
    click.echo(f"{len(verified.broken)} broken:", err=True)
    for one in verified.broken:
        click.echo(f"  {one}", err=True)
    return INVALID


COMMANDS = (import_, export, list_, backup, restore, verify)
