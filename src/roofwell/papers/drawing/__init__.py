"""Drawings: lines, labels and hatches in true metres, each with a role and no color or size on paper.

``plan``, ``profile``, ``well_section`` and ``basin_section`` build a ``Drawing`` from a Design; ``placing``
puts it on a sheet at one scale, with every label in its place; ``papers.render_svg`` makes the picture.
"""
