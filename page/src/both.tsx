// Two people changed one job: what the other changed, and the choice.
import type { Difference } from "./api";

export function Both({
  theirs,
  mine,
  onMine,
  onTheirs,
}: {
  theirs: Difference[];
  mine: number;
  onMine: () => void;
  onTheirs: () => void;
}) {
  return (
    <section className="says" role="alert" aria-label="Two people changed this job">
      <p>Somebody saved this job while you worked on it. Nothing was written over. They changed:</p>
      <ul>
        {theirs.slice(0, 20).map((one) => (
          <li key={one.path}>
            {one.path}: {one.older ?? "left out"} became {one.newer ?? "left out"}
          </li>
        ))}
      </ul>
      <div className="presses">
        <button type="button" className="main" onClick={onMine}>
          Put my {mine === 1 ? "edit" : `${mine} edits`} on theirs
        </button>
        <button type="button" onClick={onTheirs}>
          Take theirs, drop mine
        </button>
      </div>
    </section>
  );
}
