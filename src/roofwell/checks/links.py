"""5. Does it hold and soak away? Wells linked at the bottom."""

from __future__ import annotations

from collections.abc import Iterator

from roofwell import tables, units
from roofwell.checks.register import Context, Measured, check


@check(
    "link-flow",
    question=5,
    needs=("roofs", "downspouts", "wells.size", "wells.at", "soil.rate", "runs.size"),
    value="difference of level, {}",
    about=(
        "Difference of level that drives the cloudburst through the pipe between two linked wells: they are counted as "
        "standing at one level."
    ),
)
def link_flow(context: Context) -> Iterator[Measured]:
    """Entrance, friction and exit of the full pipe; what the pit keeps meanwhile is not taken off."""
    style = context.survey.style
    limit = tables.limit("link-head", style)
    for link, flow in zip(context.scheme.links, context.behaviour.links, strict=True):
        yield Measured(
            subject=link.id,
            value=flow.head_m,
            op="at most",
            limit=limit.value_si,
            scale=limit.value_si,
            show=lambda v: units.show_depth(v, style),
            sentence=(
                f"Linked at {units.show_elevation(link.invert_m, style)}, {link.of} and {link.to} are one store above it. "
                f"The {units.show_size(link.nominal_m, style)} pipe between them passes the cloudburst's "
                f"{units.show_flow(flow.flow_m3_s, style)} with {units.show_depth(flow.head_m, style)} between their levels."
            ),
            source=limit.source,
        )
