"""A file that is replaced or taken away stays, with who and when; an upload sent twice counts once."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Let a name stand for several files, one after the other."""
    with op.batch_alter_table("files") as files:
        files.drop_constraint("one_file_of_a_name", type_="unique")
        files.add_column(sa.Column("size", sa.Integer, nullable=False, server_default="0"))
        files.add_column(sa.Column("who", sa.Text, nullable=False, server_default=""))
        files.add_column(sa.Column("operation", sa.String(64), nullable=True))
        files.add_column(sa.Column("gone", sa.DateTime, nullable=True))
    op.execute("UPDATE files SET size = length(content)")
    op.create_index("one_upload_of_an_operation", "files", ["operation"], unique=True)
    op.create_index(
        "one_file_of_a_name", "files", ["job", "name"], unique=True, sqlite_where=sa.text("gone IS NULL")
    )
