// The level book on the visit: one reading at a time, its elevation and the slope since the last shot at once.
import { useState } from "react";
import type { Problem, Table } from "../api";
import { pointsOf } from "../first/shots";
import { at, isTable } from "../paths";
import type { Unit } from "../plan/lengths";
import { readLength } from "../plan/lengths";
import type { Work } from "../work";
import { knownLevels, type Level, lastOnGround, levels, showLevel, slopePercent } from "./foreman";
import { kept, Pad } from "./pad";

type Kind = "shot" | "turning point" | "backsight";
const KINDS: [Kind, string][] = [
  ["shot", "Shot"],
  ["turning point", "Turning point"],
  ["backsight", "New set-up"],
];

export function ShotsOfVisit({ work, unit, problems }: { work: Work; unit: Unit; problems: Problem[] }) {
  const values = work.state.values;
  const found = at(values, "survey");
  const survey: Table = isTable(found) ? found : {};
  const readings = (Array.isArray(survey.readings) ? survey.readings : []).filter(isTable);
  const book = levels(survey.readings, knownLevels(survey, unit), unit);
  const last = book[book.length - 1];
  const before = lastOnGround(book);
  const mark = typeof survey.benchmark === "string" ? survey.benchmark : "BM";
  const [chosen, setChosen] = useState<Kind>("shot");
  const kind: Kind = readings.length === 0 ? "backsight" : chosen;
  const [point, setPoint] = useState("");
  const [rod, setRod] = useState("");
  const [away, setAway] = useState("");
  // A book that was begun before: the instrument may stand elsewhere by now, and every shot would be off.
  const [stillThere, setStillThere] = useState(readings.length === 0);
  const names = new Set(readings.map((one) => String(one.point)));
  const turning = [...readings].reverse().find((one) => one.kind === "turning point");
  const from = kind === "backsight" ? (readings.length === 0 ? mark : String(turning?.point ?? mark)) : point;
  const suggested = pointsOf(values).filter((one) => !names.has(one));
  const setups = new Set(readings.map((one) => String(one.setup)));
  const setup = kind === "backsight" ? `S${setups.size + 1}` : (last?.setup ?? "S1");
  const typed = readLength(rod, unit, unit);
  const next: Table = {
    setup,
    kind,
    point: from.trim(),
    rod: kept(rod, unit),
    time: new Date().toTimeString().slice(0, 5),
    ...(kind === "shot" ? { ground: from.trim() !== "lowest opening of the house" } : {}),
    ...(away.trim() && before ? { note: `${kept(away, unit)} from ${before.point}` } : {}),
  };
  const seen = levels([...readings, next], knownLevels(survey, unit), unit);
  const would = typed !== undefined && seen.length > book.length ? seen[seen.length - 1] : undefined;
  const wrong = problems.filter((p) => p.path.startsWith("survey"));
  const ready = would !== undefined && from.trim() !== "";
  return (
    <section className="visitpart" aria-label="Shots">
      <p className="standing">
        {last
          ? `${last.setup} stands: height of instrument ${showLevel(last.height, unit)}`
          : `Set up the level and read the rod on ${mark}, which counts as ${showLevel(knownLevels(survey, unit)[mark] ?? 100, unit)}.`}
        {last && !stillThere && kind !== "backsight" && (
          <span className="small"> Moved since, or another day? New set-up first.</span>
        )}
      </p>
      {readings.length > 0 && (
        <div className="three" role="toolbar" aria-label="Kind of reading">
          {KINDS.map(([one, words]) => (
            <button key={one} type="button" aria-pressed={kind === one} onClick={() => setChosen(one)}>
              {words}
            </button>
          ))}
        </div>
      )}
      {kind === "backsight" ? (
        <p>
          Look back at <strong>{from}</strong>.
        </p>
      ) : (
        <>
          <div className={before && kind === "shot" ? "pointrow" : ""}>
            <label className="field">
              <span>Point, as the crew will call it</span>
              <input value={point} maxLength={40} onChange={(event) => setPoint(event.target.value)} />
            </label>
            {before && kind === "shot" && (
              <label className="field">
                <span>
                  {unit} from {before.point}
                </span>
                <input value={away} inputMode="decimal" onChange={(event) => setAway(event.target.value)} />
              </label>
            )}
          </div>
          {suggested.length > 0 && point.trim() === "" && (
            <div className="presses oneline" role="toolbar" aria-label="Points still to shoot">
              {suggested.map((one) => (
                <button key={one} type="button" onClick={() => setPoint(one)}>
                  {one}
                </button>
              ))}
            </div>
          )}
        </>
      )}
      <Pad
        label="Rod reading"
        value={rod}
        onValue={setRod}
        unit={unit}
        bare={unit}
        means={
          would ? (
            kind === "backsight" ? (
              <>
                <span className="small">height of instrument</span>{" "}
                <strong>{showLevel(would.height, unit)}</strong>
              </>
            ) : (
              <Means level={would} unit={unit} away={readLength(away, unit, unit)} />
            )
          ) : (
            " "
          )
        }
      />
      <button
        type="button"
        className="main keep"
        disabled={!ready}
        onClick={() => {
          setStillThere(true);
          work.change(
            [{ path: `survey.readings[${readings.length}]`, value: next }],
            `reading on ${from.trim()}`,
          );
          if (kind === "backsight" && readings.length === 0 && survey.benchmark === undefined)
            work.edit("survey.benchmark", from);
          setRod("");
          setPoint("");
          setAway("");
          // from a turning point the level is moved: the look back comes next
          setChosen(kind === "turning point" ? "backsight" : "shot");
        }}
      >
        {kind === "backsight" ? "Keep this backsight" : "Keep this shot"}
      </button>
      {wrong.map((problem) => (
        <p key={problem.path + problem.code} className="trouble" role="alert">
          {problem.message}
        </p>
      ))}
      <Book book={book} unit={unit} readings={readings} />
      {readings.length > 0 && (
        <button
          type="button"
          className="quiet"
          onClick={() => work.edit(`survey.readings[${readings.length - 1}]`, null)}
        >
          Take the last reading back ({String(readings[readings.length - 1]?.point)})
        </button>
      )}
    </section>
  );
}

function Means({ level, unit, away }: { level: Level; unit: Unit; away: number | undefined }) {
  const distance = away ?? level.away;
  const slope = level.fall !== null && distance ? slopePercent(level.fall, distance) : null;
  return (
    <>
      <strong>{showLevel(level.elevation, unit)}</strong>
      {level.fall !== null && (
        <span className="small">
          {level.fall >= 0 ? "falls " : "rises "}
          {showLevel(Math.abs(level.fall), unit)} from {level.from}
          {slope !== null && `, ${Math.abs(slope).toFixed(1)} %`}
        </span>
      )}
    </>
  );
}

function Book({ book, unit, readings }: { book: Level[]; unit: Unit; readings: Table[] }) {
  const shots = book.filter((level) => level.kind !== "backsight").reverse();
  if (shots.length === 0) return null;
  return (
    <ol className="book" aria-label="Shots so far, the last one first">
      {shots.map((level) => (
        <li key={level.place}>
          <span>{level.point}</span>
          <Means level={level} unit={unit} away={tapedAway(readings[level.place], unit)} />
        </li>
      ))}
    </ol>
  );
}

/** "24 ft from D1" was written beside a reading whose place is not known yet. */
function tapedAway(reading: Table | undefined, unit: Unit): number | undefined {
  const said = reading?.note;
  return typeof said === "string" ? readLength(said.split(" from ")[0] ?? "", unit, unit) : undefined;
}
