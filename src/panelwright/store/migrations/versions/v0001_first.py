"""Make repairs, facts, photos and people; rows of facts and photos can only be added.

A fact must also be the next of its repair and hold the hash of the one before. The triggers see to
it whoever writes, ``INSERT OR REPLACE`` included, which deletes without asking a delete trigger.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

_whole = sa.BigInteger().with_variant(sa.Integer, "sqlite")
_text = sa.Text


def upgrade() -> None:
    """Make everything."""
    _tables()
    if op.get_bind().dialect.name == "sqlite":
        _guard_sqlite()
    else:
        _guard_postgresql()


def _tables() -> None:
    op.create_table(
        "repair",
        sa.Column("name", _text, nullable=False),
        sa.Column("created_at", _text, nullable=False),
        sa.PrimaryKeyConstraint("name", name="repair_pk"),
    )
    op.create_table(
        "fact",
        sa.Column("seq", _whole, autoincrement=False, nullable=False),
        sa.Column("repair", _text, nullable=False),
        sa.Column("number", _whole, nullable=False),
        sa.Column("id", _text, nullable=False),
        sa.Column("kind", _text, nullable=False),
        sa.Column("previous", _text, nullable=False),
        sa.Column("hash", _text, nullable=False),
        sa.Column("entry", sa.LargeBinary, nullable=False),
        sa.Column("recorded_at", _text, nullable=False),
        sa.PrimaryKeyConstraint("seq", name="fact_pk"),
        sa.ForeignKeyConstraint(["repair"], ["repair.name"], name="fact_repair_fk"),
        sa.UniqueConstraint("repair", "number", name="fact_repair_number_unique"),
        sa.UniqueConstraint("repair", "id", name="fact_repair_id_unique"),
    )
    op.create_table(
        "photo",
        sa.Column("sha256", _text, nullable=False),
        sa.Column("media", _text, nullable=False),
        sa.Column("width", _whole, nullable=False),
        sa.Column("height", _whole, nullable=False),
        sa.Column("size", _whole, nullable=False),
        sa.Column("added_at", _text, nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="photo_pk"),
    )
    op.create_table(
        "person",
        sa.Column("name", _text, nullable=False),
        sa.Column("units", _text, nullable=False),
        sa.Column("theme", _text, nullable=False),
        sa.PrimaryKeyConstraint("name", name="person_pk"),
    )


_FIRST = "0" * 64
_NEXT = f"""\
NEW.seq = (SELECT coalesce(max(seq), 0) + 1 FROM fact)
AND NEW.number = (SELECT coalesce(max(number), -1) + 1 FROM fact WHERE repair = NEW.repair)
AND NEW.previous = coalesce(
  (SELECT hash FROM fact WHERE repair = NEW.repair AND number = NEW.number - 1), '{_FIRST}')
"""  # noqa: S608 - nothing from outside is in it


def _guard_sqlite() -> None:
    for table in ("fact", "photo"):
        for deed in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{deed.lower()} BEFORE {deed} ON {table} BEGIN "
                f"SELECT RAISE(ABORT, 'rows of {table} are only added'); END"
            )
    op.execute(
        f"CREATE TRIGGER fact_next BEFORE INSERT ON fact WHEN NOT ({_NEXT}) BEGIN "
        "SELECT RAISE(ABORT, 'a fact goes behind the last one of its repair'); END"
    )
    op.execute(
        "CREATE TRIGGER photo_new BEFORE INSERT ON photo "
        "WHEN EXISTS (SELECT 1 FROM photo WHERE sha256 = NEW.sha256) BEGIN "
        "SELECT RAISE(ABORT, 'this photo is there already'); END"
    )


def _guard_postgresql() -> None:
    op.execute(
        "CREATE FUNCTION only_added() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "RAISE EXCEPTION 'rows of % are only added', TG_TABLE_NAME; END $$"
    )
    for table in ("fact", "photo"):
        op.execute(
            f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION only_added()"
        )
        op.execute(
            f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION only_added()"
        )
    op.execute(
        "CREATE FUNCTION fact_is_next() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        f"IF NOT ({_NEXT}) THEN "
        "RAISE EXCEPTION 'a fact goes behind the last one of its repair'; END IF; "
        "RETURN NEW; END $$"
    )
    op.execute(
        "CREATE TRIGGER fact_next BEFORE INSERT ON fact "
        "FOR EACH ROW EXECUTE FUNCTION fact_is_next()"
    )
