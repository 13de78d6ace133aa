// A benchmark and the shots: the fall that the ground gives.
import { useState } from "react";
import type { Leaf, Table } from "../api";
import { at, isTable } from "../paths";
import { knownLevels, levels, showLevel } from "../visit/foreman";
import { LengthField, withoutUnit, withUnit } from "./parts";
import type { Asked } from "./questions";

const WELL = "place for the well";
const LINE = "lot line below the well";
const OPENING = "lowest opening of the house";

const HINTS: Record<string, string> = {
  [WELL]: "the ground where a well could stand: low, away from the house",
  [LINE]: "the ground on the lot line, on the way that the water would take from there",
  [OPENING]: "sill, vent or threshold that water would reach first: hold the rod on it",
};

export function pointsOf(values: Leaf): string[] {
  const spouts = at(values, "downspouts");
  return [...(isTable(spouts) ? Object.keys(spouts) : []), WELL, LINE, OPENING];
}

export function Shots({ work, units, looked }: Asked) {
  const unit = units === "us" ? "ft" : "m";
  const points = pointsOf(work.state.values);
  const list = at(work.state.values, "survey.readings");
  const [back, setBack] = useState(() => withoutUnit(rodOf(list, "BM"), units));
  const [rods, setRods] = useState<Record<string, string>>(() =>
    Object.fromEntries(points.map((point) => [point, withoutUnit(rodOf(list, point), units)])),
  );
  const keep = (backsight: string, shots: Record<string, string>) => {
    const old = Array.isArray(list) ? list.filter(isTable) : [];
    const mine = new Set(["BM", ...points]);
    const readings: Table[] = [];
    if (backsight.trim())
      readings.push({ setup: "S1", kind: "backsight", point: "BM", rod: withUnit(backsight, units) });
    for (const point of points) {
      const rod = withUnit(shots[point] ?? "", units);
      if (!rod) continue;
      const before = old.find((one) => one.point === point);
      readings.push({
        setup: "S1",
        kind: "shot",
        point,
        rod,
        ...(before?.at === undefined ? {} : { at: before.at }),
        ground: point !== OPENING,
      });
    }
    // shots that were taken on the visit stay
    const others = old.filter((one) => !mine.has(String(one.point)) || one.setup !== "S1");
    work.edit("survey.readings", [...readings, ...others]);
  };
  const survey = at(work.state.values, "survey");
  const table: Table = isTable(survey) ? survey : {};
  const here = levels(table.readings, knownLevels(table, unit), unit);
  const taken = Object.values(rods).filter((rod) => rod.trim() !== "").length;
  return (
    <>
      <p>
        Set the level up where it sees the house and the low end of the lot. Hold the rod on something that
        cannot move (a step, a sill): that is the benchmark, and counts as {showLevel(100, unit)}. Then read
        the rod at each point below. Leave out what you cannot see.
      </p>
      <LengthField
        label="rod on the benchmark (backsight)"
        value={back}
        units={units}
        wrong={problemAt(looked.problems, list, "BM")}
        onValue={(text) => {
          setBack(text);
          keep(text, rods);
        }}
      />
      <ol className="rows shots">
        {points.map((point) => {
          const level = here.find((one) => one.point === point && one.kind !== "backsight");
          return (
            <li key={point}>
              <LengthField
                label={/^D\d/.test(point) ? `ground at ${point}` : point}
                value={rods[point] ?? ""}
                units={units}
                hint={HINTS[point] ?? ""}
                wrong={
                  back.trim() === "" && (rods[point] ?? "").trim() !== ""
                    ? "Read the rod on the benchmark first: without it no elevation follows."
                    : problemAt(looked.problems, list, point)
                }
                onValue={(text) => {
                  const next = { ...rods, [point]: text };
                  setRods(next);
                  keep(back, next);
                }}
              />
              <p className="tells" aria-live="polite">
                {level && (
                  <>
                    <strong>{showLevel(level.elevation, unit)}</strong>{" "}
                    <span className="small">
                      {looked.look?.levels.find((one) => one.point === point)?.below}
                    </span>
                  </>
                )}
              </p>
            </li>
          );
        })}
      </ol>
      <p className="small">{`${taken} of ${points.length} points shot.`}</p>
    </>
  );
}

function rodOf(list: Leaf | undefined, point: string): Leaf | undefined {
  const entry = Array.isArray(list)
    ? list.find((one) => isTable(one) && one.point === point && one.setup === "S1")
    : undefined;
  return isTable(entry) ? entry.rod : undefined;
}

function problemAt(
  problems: { path: string; message: string }[],
  list: Leaf | undefined,
  point: string,
): string | undefined {
  const place = Array.isArray(list) ? list.findIndex((one) => isTable(one) && one.point === point) : -1;
  return place < 0
    ? undefined
    : problems.find((p) => p.path.startsWith(`survey.readings[${place}]`) && !p.path.endsWith("].at"))
        ?.message;
}
