// A hole, water in it, a clock: each reading says at once how fast the level falls.
import { useEffect, useState } from "react";
import type { FirstLook, Leaf, Problem, Table } from "../api";
import { at, isTable } from "../paths";
import { readLength, type Unit } from "../plan/lengths";
import type { Work } from "../work";
import { fallRate, lengthOf } from "./foreman";
import { kept, Pad } from "./pad";
import { Typed } from "./typed";

interface Clock {
  started: number;
  level: string;
}

const KINDS = ["auger", "pit", "percolation", "constant_head", "ring", "fill"];

/** The soil tests of every kind: the visit makes auger holes, the others are typed under Measure and count as well. */
export function testsOf(values: Leaf): Table[] {
  return KINDS.flatMap((kind) => listed(at(values, `soil.${kind}_tests`)));
}

export function SoilOfVisit({
  work,
  unit,
  look,
  problems,
}: {
  work: Work;
  unit: Unit;
  look: FirstLook | null;
  problems: Problem[];
}) {
  const tests = listed(at(work.state.values, "soil.auger_tests"));
  const [open, setOpen] = useState(tests.length - 1);
  const place = Math.min(open, tests.length - 1);
  const test = tests[place];
  const wrong = problems.filter((p) => p.path.startsWith("soil"));
  const all = testsOf(work.state.values);
  const others = all.length - tests.length;
  const ids = new Set(all.map((one) => String(one.id)));
  let next = tests.length + 1;
  while (ids.has(`A${next}`)) next += 1;
  return (
    <section className="visitpart" aria-label="Soil">
      {tests.length > 1 && (
        <div className="presses" role="toolbar" aria-label="Holes">
          {tests.map((one, i) => (
            <button key={String(one.id)} type="button" aria-pressed={i === place} onClick={() => setOpen(i)}>
              {String(one.id)}
            </button>
          ))}
        </div>
      )}
      {others > 0 && (
        <p className="small">
          {others === 1 ? "One test of another kind is" : `${others} tests of other kinds are`} given: see
          Measure, soil.
        </p>
      )}
      {test ? (
        <Hole key={place} work={work} unit={unit} test={test} place={place} look={look} />
      ) : (
        <p>
          Bore a hole where the well could stand, as deep as its bottom. Scratch its wall, fill it with water
          and let it soak; then fill it again and time the fall.
        </p>
      )}
      <NewHole
        unit={unit}
        first={tests.length === 0}
        onMake={(depth, diameter) => {
          work.change(
            [
              {
                path: `soil.auger_tests[${tests.length}]`,
                value: {
                  id: `A${next}`,
                  hole_depth: depth,
                  hole_diameter: diameter,
                  date: new Date().toLocaleDateString("sv-SE"),
                  readings: [],
                },
              },
            ],
            "a hole for the soil",
          );
          setOpen(tests.length);
        }}
      />
      <Typed
        work={work}
        path="soil.seasonal_high_water_depth"
        bare={unit === "ft" ? "in" : "cm"}
        label={`Rusty or gray spots in the hole begin how deep under the ground? (${unit === "ft" ? "in" : "cm"})`}
        hint="They show how high groundwater comes in its season. None down to the bottom: type how deep the hole is."
        along={(typed) => [{ path: "soil.high_water_known_by", value: typed === null ? null : "mottling" }]}
      />
      {wrong.map((problem) => (
        <p key={problem.path + problem.code} className="trouble" role="alert">
          {problem.message}
        </p>
      ))}
    </section>
  );
}

function NewHole({
  unit,
  first,
  onMake,
}: {
  unit: Unit;
  first: boolean;
  onMake: (depth: string, diameter: string) => void;
}) {
  const [depth, setDepth] = useState("");
  const [diameter, setDiameter] = useState("");
  const bare = unit === "ft" ? "in" : "cm";
  const good = [depth, diameter].every((one) => (readLength(one, unit, bare) ?? 0) > 0);
  const form = (
    <form
      className="newhole"
      onSubmit={(event) => {
        event.preventDefault();
        if (!good) return;
        onMake(kept(depth, bare), kept(diameter, bare));
        setDepth("");
        setDiameter("");
      }}
    >
      <label className="field">
        <span>Depth of the hole ({bare})</span>
        <input value={depth} inputMode="decimal" onChange={(event) => setDepth(event.target.value)} />
      </label>
      <label className="field">
        <span>Diameter of the hole ({bare})</span>
        <input value={diameter} inputMode="decimal" onChange={(event) => setDiameter(event.target.value)} />
      </label>
      <button type="submit" disabled={!good}>
        Time this hole
      </button>
    </form>
  );
  if (first) return form;
  return (
    <details className="more">
      <summary>Another hole</summary>
      {form}
    </details>
  );
}

function Hole({
  work,
  unit,
  test,
  place,
  look,
}: {
  work: Work;
  unit: Unit;
  test: Table;
  place: number;
  look: FirstLook | null;
}) {
  const key = `roofwell-clock:${work.state.opened.summary.id}:${String(test.id)}`;
  const [clock, setClock] = useState<Clock | null>(() => keptClock(key));
  const [level, setLevel] = useState("");
  const [now, setNow] = useState(Date.now);
  // A level counts for the moment in which it was begun to be typed, not for that in which it was typed to its end.
  const [taken, setTaken] = useState<number | null>(null);
  const type = (text: string) => {
    setTaken(text.trim() === "" ? null : (taken ?? Date.now()));
    setLevel(text);
  };
  useEffect(() => {
    if (!clock) return;
    const tick = setInterval(() => setNow(Date.now()), 1000);
    return () => clearInterval(tick);
  }, [clock]);
  const bare = unit === "ft" ? "in" : "cm";
  const readings = listed(test.readings);
  const typed = readLength(level, unit, bare);
  const before = clock ? readLength(clock.level, unit, bare) : undefined;
  const told = look?.tests.find((one) => one.id === test.id);
  const keepClock = (next: Clock | null) => {
    setClock(next);
    setNow(Date.now());
    try {
      if (next) localStorage.setItem(key, JSON.stringify(next));
      else localStorage.removeItem(key);
    } catch {
      // a browser that keeps nothing still runs the clock while the page is open
    }
  };
  const rises = typed !== undefined && before !== undefined && typed < before;
  return (
    <>
      <p className="standing">
        {String(test.id)}: {String(test.hole_depth)} deep, {String(test.hole_diameter)} wide
      </p>
      <label className="choice">
        <input
          type="checkbox"
          checked={test.presoaked === true}
          onChange={(event) => work.edit(`soil.auger_tests[${place}].presoaked`, event.target.checked)}
        />
        <span>soaked before</span>
      </label>
      <label className="choice">
        <input
          type="checkbox"
          checked={test.walls_scratched === true}
          onChange={(event) => work.edit(`soil.auger_tests[${place}].walls_scratched`, event.target.checked)}
        />
        <span>wall scratched open</span>
      </label>
      <Pad
        label="From the top of the hole down to the water"
        value={level}
        onValue={type}
        unit={unit}
        bare={bare}
        inches
        still
        means={
          clock ? (
            <>
              <strong>{clockWords(((taken ?? now) - clock.started) / 1000)}</strong>
              <span className="small">
                {taken ? "when you read it, " : ""}since the water stood at {clock.level}
              </span>
            </>
          ) : (
            <span className="small">Read where the water stands, then start the clock.</span>
          )
        }
      />
      {rises && (
        <p className="trouble" role="alert">
          The water would have risen. Was the hole filled again? Then press Filled again.
        </p>
      )}
      <button
        type="button"
        className="main keep"
        disabled={typed === undefined || rises}
        onClick={() => {
          const stands = { started: taken ?? Date.now(), level: kept(level, bare) };
          if (clock) {
            const seconds = Math.max(1, Math.round((stands.started - clock.started) / 1000));
            work.change(
              [
                {
                  path: `soil.auger_tests[${place}].readings[${readings.length}]`,
                  value: { water_start: clock.level, water_end: stands.level, time: timeText(seconds) },
                },
              ],
              "a reading of the hole",
            );
          }
          keepClock(stands);
          type("");
        }}
      >
        {clock ? "The water is there now" : "Start the clock"}
      </button>
      {clock && (
        <button type="button" onClick={() => keepClock(null)}>
          Filled again
        </button>
      )}
      {readings.length > 0 && (
        <ol className="book" aria-label="Readings so far, the last one first">
          {[...readings].reverse().map((one, back) => (
            <Fall
              key={readings.length - back}
              reading={one}
              before={readings[readings.length - 2 - back]}
              unit={unit}
            />
          ))}
        </ol>
      )}
      {told && (
        <div className="says">
          <p>
            Counted for the soil, the hole's walls taken out: <strong>{told.rate}</strong>
          </p>
          {told.remarks.map((one) => (
            <p key={one} className="small">
              {one}
            </p>
          ))}
        </div>
      )}
      {readings.length > 0 && (
        <button
          type="button"
          className="quiet"
          onClick={() => work.edit(`soil.auger_tests[${place}].readings[${readings.length - 1}]`, null)}
        >
          Take the last reading back
        </button>
      )}
    </>
  );
}

function Fall({ reading, before, unit }: { reading: Table; before: Table | undefined; unit: Unit }) {
  const rate = rateOf(reading, unit);
  const old = before ? rateOf(before, unit) : null;
  const change =
    rate && old && old.value > 0 ? Math.round((100 * (rate.value - old.value)) / old.value) : null;
  return (
    <li>
      <span>
        {String(reading.water_start)} to {String(reading.water_end)}, after {String(reading.time)}
      </span>
      {rate && (
        <>
          <strong>
            {rate.value.toFixed(1)} {rate.unit}
          </strong>
          {change !== null && (
            <span className="small">
              {Math.abs(change) <= 10
                ? "as steady as the one before"
                : `${Math.abs(change)} % ${change < 0 ? "slower" : "faster"} than the one before`}
            </span>
          )}
        </>
      )}
    </li>
  );
}

function rateOf(reading: Table, unit: Unit) {
  const [start, end] = [lengthOf(reading.water_start, unit), lengthOf(reading.water_end, unit)];
  const seconds = typeof reading.time === "string" ? secondsOf(reading.time) : undefined;
  return start === undefined || end === undefined || !seconds ? null : fallRate(start, end, seconds, unit);
}

/** The times that this screen writes itself, and minutes or hours typed elsewhere. */
function secondsOf(text: string): number | undefined {
  const match = /^([\d.]+) *(s|min|h)$/.exec(text.trim());
  const factor = { s: 1, min: 60, h: 3600 }[match?.[2] ?? ""];
  return match && factor ? Number(match[1]) * factor : undefined;
}

function timeText(seconds: number): string {
  return seconds < 600 ? `${seconds} s` : `${(seconds / 60).toFixed(1)} min`;
}

function clockWords(seconds: number): string {
  const whole = Math.max(0, Math.floor(seconds));
  const two = (n: number) => String(n).padStart(2, "0");
  const hours = Math.floor(whole / 3600);
  return `${hours ? `${hours}:` : ""}${two(Math.floor((whole % 3600) / 60))}:${two(whole % 60)}`;
}

function listed(value: Leaf | undefined): Table[] {
  return Array.isArray(value) ? value.filter(isTable) : [];
}

function keptClock(key: string): Clock | null {
  try {
    const found: unknown = JSON.parse(localStorage.getItem(key) ?? "null");
    const clock = found as Clock | null;
    return clock && typeof clock.started === "number" && typeof clock.level === "string" ? clock : null;
  } catch {
    return null;
  }
}
