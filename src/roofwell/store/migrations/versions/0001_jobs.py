"""Jobs, their versions, and the files that they name."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the three tables."""
    op.create_table(
        "jobs",
        sa.Column("id", sa.String(36), primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("customer", sa.Text, nullable=False),
        sa.Column("made", sa.DateTime, nullable=False),
        sa.Column("changed", sa.DateTime, nullable=False),
        sa.Column("archived", sa.Boolean, nullable=False),
        sa.Column("head", sa.Integer, nullable=False),
    )
    op.create_index("ix_jobs_changed", "jobs", ["changed"])
    op.create_table(
        "versions",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("job", sa.String(36), sa.ForeignKey("jobs.id", ondelete="CASCADE"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("saved", sa.DateTime, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("operation", sa.String(64), nullable=True),
        sa.UniqueConstraint("job", "number", name="one_version_of_a_number"),
    )
    op.create_index("ix_versions_job", "versions", ["job"])
    op.create_index("one_save_of_an_operation", "versions", ["operation"], unique=True)
    op.create_table(
        "files",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("job", sa.String(36), sa.ForeignKey("jobs.id", ondelete="CASCADE"), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("added", sa.DateTime, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.UniqueConstraint("job", "name", name="one_file_of_a_name"),
    )
    op.create_index("ix_files_job", "files", ["job"])
