from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, text
from sqlalchemy.exc import DBAPIError

from panelwright.errors import StoreLostError, StoreVersionError
from panelwright.store import Place, Store, open_store
from panelwright.store.durable import make_folder
from panelwright.store.engines import writer
from panelwright.store.migrate import MIGRATIONS, migrate, schema_of
from panelwright.store.tables import SCHEMA, metadata
from tests.store.making import facts, forced


def script() -> ScriptDirectory:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    config.set_main_option("path_separator", "os")
    return ScriptDirectory.from_config(config)


@pytest.mark.second_route
def test_the_migrations_make_the_tables_that_the_code_knows(store: Store) -> None:
    with store._reader.connect() as connection:
        found = compare_metadata(
            MigrationContext.configure(connection, opts={"compare_type": True}), metadata
        )
        assert found == []
        assert schema_of(connection) == SCHEMA


@pytest.mark.exact
def test_migrations_are_numbered_one_after_the_other() -> None:
    steps = [step.revision for step in script().walk_revisions()][::-1]
    assert steps == [f"{number:04}" for number in range(1, len(steps) + 1)]
    assert steps[-1] == SCHEMA


@pytest.mark.exact
def test_what_cannot_be_finished_is_not_begun(place: Place) -> None:
    """A migration that fails on its way leaves nothing behind, on SQLite too."""
    make_folder(place.folder)
    engine = writer(place, wait_s=5)
    with engine.begin() as connection:  # it stands in the way of the third table
        connection.execute(text("CREATE TABLE photo (x INTEGER)"))
    with pytest.raises(DBAPIError, match="already exists"):
        migrate(engine)
    with engine.connect() as connection:
        assert inspect(connection).get_table_names() == ["photo"]
        connection.rollback()
        connection.execute(text("DROP TABLE photo"))
        connection.commit()
    migrate(engine)
    engine.dispose()
    with open_store(place, make=False) as store:
        assert store.verify().broken == ()


@pytest.mark.exact
def test_a_store_of_a_newer_version_is_left_alone(store: Store, place: Place) -> None:
    store.start("heron-114", facts(0, 1))
    forced(store, "UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreVersionError, match=r"newer version.*9999.*up to 0001"):
        open_store(place)
    with store._reader.connect() as connection:
        assert connection.execute(text("SELECT count(*) FROM fact")).scalar_one() == 1


@pytest.mark.exact
def test_nothing_is_made_where_that_is_not_asked_for(place: Place) -> None:
    with pytest.raises(StoreLostError, match=r"nothing is stored in .* yet; `panelwright import"):
        open_store(place, make=False)
    assert not place.folder.exists()


@pytest.mark.exact
def test_several_may_make_the_same_store_at_once(place: Place) -> None:
    together = Barrier(4)

    def begin(number: int) -> str:
        together.wait()
        with open_store(place, wait_s=20) as store:
            return store.start(f"r{number}", facts(0, 1)).log_head

    with ThreadPoolExecutor(4) as pool:
        assert len(set(pool.map(begin, range(4)))) == 1
    with open_store(place, make=False) as store:
        assert len(store.repairs()) == 4
        assert store.verify().broken == ()
