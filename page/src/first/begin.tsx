// A new house: its name and its units, then the questions.
import { useState } from "react";
import { api, mark, NoAnswer } from "../api";

/** The first thing that is asked: the cursor stands there. A stable function is called once. */
function toCursor(element: HTMLInputElement | null): void {
  element?.focus();
}

export function Begin({ who }: { who: string }) {
  const [name, setName] = useState("");
  const [units, setUnits] = useState<"us" | "metric">("us");
  const [trouble, setTrouble] = useState("");
  const [operation] = useState(mark);
  return (
    <main className="first">
      <form
        className="ask"
        onSubmit={(event) => {
          event.preventDefault();
          api.begin({ name, units, who, operation }).then(
            (saved) => {
              location.hash = `#/jobs/${saved.job}/first`;
            },
            (error: Error) =>
              setTrouble(
                error instanceof NoAnswer
                  ? "No signal: a new house is begun where Roofwell answers. Open one that was begun before, or write the figures down."
                  : error.message,
              ),
          );
        }}
      >
        <h1>New house</h1>
        <p>
          A few questions, about ten minutes. Leave out what you do not know: Roofwell says what each missing
          answer would decide, and how to measure it.
        </p>
        <label className="field">
          <span>What shall the job be called?</span>
          <input
            value={name}
            maxLength={200}
            autoComplete="off"
            ref={toCursor}
            onChange={(event) => setName(event.target.value)}
          />
        </label>
        <fieldset className="choices two">
          <legend>Lengths in</legend>
          {(["us", "metric"] as const).map((one) => (
            <label key={one} className="choice">
              <input type="radio" name="units" checked={units === one} onChange={() => setUnits(one)} />
              <span>{one === "us" ? "feet and inches" : "meters"}</span>
            </label>
          ))}
        </fieldset>
        {trouble && (
          <p className="trouble" role="alert">
            {trouble}
          </p>
        )}
        <div className="onward">
          <button type="submit" className="main" disabled={name.trim() === ""}>
            Begin
          </button>
          <a href="#/">Back to the jobs</a>
        </div>
      </form>
    </main>
  );
}
