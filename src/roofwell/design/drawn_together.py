"""The chance with all unknowns drawn together, for a whole Design; slow to load, so who needs it names this module."""

from __future__ import annotations

from dataclasses import replace

from roofwell.design.complete import Progress
from roofwell.design.result import Design
from roofwell.system.joint_chance import with_joint


def drawn_together(design: Design, *, progress: Progress | None = None) -> Design:
    """Return the Design with its chance drawn together; the same one where it has none, or nobody tested the soil.

    ``progress`` is called with a few words now and then, with none in between, and may raise to stop.
    """
    behaviour = design.behaviour
    beyond = behaviour.beyond
    if beyond is None or beyond.chance is None:
        return design
    drawn = with_joint(beyond.chance, design.scheme, design.survey, behaviour, progress=progress)
    return replace(design, behaviour=replace(behaviour, beyond=replace(beyond, chance=drawn)))
