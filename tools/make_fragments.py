"""Make the library of 5-minute fragments of the package from the file of 5-minute gauges.

    python tools/make_fragments.py FILE.parquet [OUT.npz]

FILE has a column of whole tenths of a millimeter for each gauge and the end of each step as its index. Needs pyarrow,
which the package itself does not. OUT is src/roofwell/tables/rain/singapore-5-min.npz if left out. Running it again on
the same file gives the same bytes.
"""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path

import numpy as np
import pyarrow.parquet as parquet

PARTS = 12
STEP = np.timedelta64(300, "s")


def main(file: Path, out: Path) -> None:
    """Write every wet hour whose twelve parts and whose neighbors are known."""
    table = parquet.read_table(file)
    index = next(name for name in table.schema.names if name not in _gauges(table.schema.names))
    ends = table.column(index).to_numpy().astype("datetime64[s]")
    start = ends[0] - STEP
    place = ((ends - STEP - start.astype("datetime64[h]")) // STEP).astype(np.int64)
    hours = int(place[-1]) // PARTS + 1
    rows, kinds = [], []
    for gauge in _gauges(table.schema.names):
        column = table.column(gauge).to_numpy(zero_copy_only=False).astype(np.float64)  # null is NaN
        grid = np.full(hours * PARTS, np.nan)
        grid[place] = column
        parts = grid.reshape(hours, PARTS)
        total = parts.sum(axis=1)
        known = ~np.isnan(total)
        kept = np.zeros(hours, dtype=np.bool_)
        kept[1:-1] = known[1:-1] & known[:-2] & known[2:] & (total[1:-1] > 0)
        at = np.flatnonzero(kept)
        rows.append(parts[at].astype(np.uint16))
        kinds.append((2 * (total[at - 1] > 0) + (total[at + 1] > 0)).astype(np.uint8))
        print(gauge, at.size, f"{total[at].max() / 10:.1f} mm in its wettest hour")
    np.savez_compressed(out, tenths_mm=np.concatenate(rows), kind=np.concatenate(kinds))
    print(sum(len(k) for k in kinds), "hours,", out.stat().st_size, "bytes,", _sha256(out))


def _gauges(names: list[str]) -> list[str]:
    return [name for name in names if name[:1] == "S" and name[1:].isdigit()]


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


if __name__ == "__main__":
    if len(sys.argv) not in (2, 3):
        raise SystemExit(__doc__)
    default = Path(__file__).parent.parent / "src" / "roofwell" / "tables" / "rain" / "singapore-5-min.npz"
    main(Path(sys.argv[1]), Path(sys.argv[2]) if len(sys.argv) == 3 else default)
