// The part that is chosen: where it comes from, its corners, the lengths of its sides, what can be done with it.
import { Dot } from "../dot";
import { LengthField, PointFields } from "./fields";
import { distance } from "./geometry";
import { showLength, type Unit } from "./lengths";
import { cornerLetter } from "./marks";
import type { Part } from "./model";

export interface Doing {
  choose(key: string | null, index: number | null): void;
  typed(part: Part, index: number, axis: 0 | 1, value: number, text: string): void;
  level(part: Part, leaf: string, text: string): void;
  sideLength(part: Part, index: number, length: number): void;
  keep(part: Part): void;
  leave(part: Part): void;
  takeOut(part: Part): void;
  addCorner(part: Part, after: number): void;
  takeCorner(part: Part, index: number): void;
}

const FROM = {
  given: "given",
  designed: "designed by Roofwell",
  assumed: "assumed",
  missing: "not given: Roofwell stands in with a place of its own",
} as const;
const OURS = new Set(["downspouts", "wyes", "runs", "basins", "wells", "overflows", "outlets"]);

export const nameOf = (part: Part): string =>
  part.table === "complaint"
    ? "puddle"
    : part.words === "shot"
      ? /^shot\b/.test(part.id)
        ? part.id
        : `shot at ${part.id}`
      : `${part.id} ${part.words}`.trim();

export function Chosen({
  part,
  index,
  unit,
  bare,
  doing,
  level,
}: {
  part: Part;
  index: number | null;
  unit: Unit;
  bare: string;
  doing: Doing;
  level: { leaf: string; shown: string } | null;
}) {
  const closed = part.shape === "outline";
  const many = part.shape !== "point";
  const place = index ?? 0;
  return (
    <section className="chosen" aria-label={nameOf(part)}>
      <h2>{nameOf(part)}</h2>
      <p className="small from">
        <Dot kind={part.origin} /> {FROM[part.origin]}
        {part.says && `, ${part.says}`}
      </p>
      <div className="presses">
        {part.origin !== "given" && (
          <button type="button" onClick={() => doing.keep(part)}>
            Keep it here
          </button>
        )}
        {part.origin === "given" && OURS.has(part.table) && (
          <button type="button" onClick={() => doing.leave(part)}>
            Let Roofwell place it
          </button>
        )}
        {part.origin === "given" && (
          <button type="button" onClick={() => doing.takeOut(part)}>
            Take {part.id || "it"} out
          </button>
        )}
      </div>
      <table className="corners">
        <thead>
          <tr>
            <th scope="col">{many ? "Corner" : "At"}</th>
            <th scope="col">East</th>
            <th scope="col">North</th>
            {many && <th scope="col">To the next</th>}
          </tr>
        </thead>
        <tbody>
          {part.points.map((point, i) => {
            const next = part.points[closed ? (i + 1) % part.points.length : i + 1];
            const letter = cornerLetter(i);
            return (
              <tr key={i}>
                <th scope="row">
                  {many ? (
                    <button
                      type="button"
                      aria-pressed={index === i}
                      aria-label={`Corner ${letter} of ${part.id || "it"}`}
                      onClick={() => doing.choose(part.key, index === i ? null : i)}
                    >
                      {letter}
                    </button>
                  ) : (
                    part.id
                  )}
                </th>
                <PointFields
                  part={part}
                  index={i}
                  name={many ? `Corner ${letter}` : part.id || part.words}
                  unit={unit}
                  bare={bare}
                  onTyped={(at, axis, value, text) => doing.typed(part, at, axis, value, text)}
                />
                {many && (
                  <td>
                    {next && Number.isFinite(point[0] + next[0]) && (
                      <LengthField
                        label={`Length from ${letter} to the next corner`}
                        shown={showLength(distance(point, next), unit)}
                        unit={unit}
                        bare={unit}
                        onRead={(value) => doing.sideLength(part, i, value)}
                      />
                    )}
                  </td>
                )}
              </tr>
            );
          })}
        </tbody>
      </table>
      {level && (
        <div className="line">
          <span>{level.leaf === "rod" ? "Rod reading" : "Elevation"}</span>
          <LengthField
            label={level.leaf === "rod" ? `Rod reading at ${part.id}` : `Elevation of ${part.id}`}
            shown={level.shown}
            unit={unit}
            bare={bare}
            onRead={(_, text) => doing.level(part, level.leaf, text)}
          />
        </div>
      )}
      {many && (
        <div className="presses">
          <button type="button" onClick={() => doing.addCorner(part, place)}>
            Add a corner after {cornerLetter(place)}
          </button>
          {index !== null && (
            <button type="button" onClick={() => doing.takeCorner(part, index)}>
              Take corner {cornerLetter(index)} out
            </button>
          )}
        </div>
      )}
    </section>
  );
}
