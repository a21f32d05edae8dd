"""Records and snapshots, append-only."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

TABLES = ("records", "snapshots")


def upgrade() -> None:
    """Make the two tables, and forbid changing what stands in them."""
    op.create_table(
        "records",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("moment", sa.String(40), nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("job", sa.String(200), nullable=False),
        sa.Column("subject", sa.String(200), nullable=False),
        sa.Column("snapshot", sa.Text, nullable=False),
        sa.Column("reading", sa.Text, nullable=False),
        sa.Column("conditions", sa.Text, nullable=False),
        sa.Column("replaces", sa.String(32), nullable=True),
        sa.Column("by", sa.String(100), nullable=False),
        sa.Column("version", sa.String(20), nullable=False),
    )
    op.create_table(
        "snapshots",
        sa.Column("digest", sa.String(40), primary_key=True),
        sa.Column("body", sa.Text, nullable=False),
    )
    _forbid_changes(op.get_bind().dialect.name)


def _forbid_changes(dialect: str) -> None:
    if dialect == "postgresql":
        op.execute(
            "CREATE FUNCTION firstoff_kept() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION 'records are kept for ever'; END $$"
        )
    for table in TABLES:
        for verb in ("UPDATE", "DELETE"):
            then = ("FOR EACH ROW EXECUTE FUNCTION firstoff_kept()" if dialect == "postgresql"
                    else "BEGIN SELECT RAISE(ABORT, 'records are kept for ever'); END")
            op.execute(f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} {then}")
