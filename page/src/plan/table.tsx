// The plan as a table: every part with its coordinates as fields, the same edits as on the drawing.
import { Dot } from "../dot";
import { type Doing, nameOf } from "./chosen";
import { PointFields } from "./fields";
import type { Unit } from "./lengths";
import { cornerLetter } from "./marks";
import type { Part } from "./model";

export function PlanTable({
  parts,
  unit,
  bareOf,
  chosen,
  doing,
}: {
  parts: Part[];
  unit: Unit;
  bareOf: (part: Part) => string;
  chosen: string | null;
  doing: Doing;
}) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls can be reached by keyboard
    <section className="plan-table" aria-label="The plan as a table" tabIndex={0}>
      <table>
        <caption>
          East and north from the origin of the job, in {unit === "ft" ? "feet" : "meters"} where no unit
          stands. With a part in focus, the arrow keys move it; Delete takes it out.
        </caption>
        <thead>
          <tr>
            <th scope="col">Part</th>
            <th scope="col">From</th>
            <th scope="col">Corner</th>
            <th scope="col">East</th>
            <th scope="col">North</th>
          </tr>
        </thead>
        {parts.map((part) => (
          <tbody key={part.key}>
            {part.points.map((_, i) => (
              <tr key={i}>
                {i === 0 && (
                  <>
                    <th scope="rowgroup" rowSpan={part.points.length}>
                      <button
                        type="button"
                        data-key={part.key}
                        aria-pressed={chosen === part.key}
                        onClick={() => doing.choose(part.key, null)}
                      >
                        {nameOf(part)}
                      </button>
                    </th>
                    <td rowSpan={part.points.length}>
                      <span className="from">
                        <Dot kind={part.origin} /> <span className="word">{part.origin}</span>
                      </span>
                    </td>
                  </>
                )}
                <td>{part.shape === "point" ? "" : cornerLetter(i)}</td>
                <PointFields
                  part={part}
                  index={i}
                  name={part.shape === "point" ? nameOf(part) : `${nameOf(part)}, corner ${cornerLetter(i)}`}
                  unit={unit}
                  bare={bareOf(part)}
                  onTyped={(at, axis, value, text) => doing.typed(part, at, axis, value, text)}
                />
              </tr>
            ))}
          </tbody>
        ))}
      </table>
    </section>
  );
}
