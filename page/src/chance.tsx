// The chance of spills with all unknowns drawn together: asked for by a press, told where the chance is told.
import { useSyncExternalStore } from "react";
import type { Chances } from "./api";
import { plainly } from "./words";
import type { Work } from "./work";

/** A line of the papers, without the places in the document that it ends its parts with. */
const said = (words: string) => plainly(words.replace(/: [a-z]+(?:\.[A-Za-z_]+)+(?=[.;])/g, ""));

export function Chance({ work, found }: { work: Work; found: Chances }) {
  const { chance } = useSyncExternalStore(work.listen, () => work.state);
  const drawn = chance.found?.together ?? [];
  return (
    <section className="longer" aria-label="Chance of spills">
      {found.sentence && <p>{found.sentence}</p>}
      {found.tested && (
        <>
          {drawn.map((words) => (
            <p key={words}>{said(words)}</p>
          ))}
          {chance.words ? (
            <p aria-live="polite">
              Working out: {chance.words}.{" "}
              <button type="button" className="quiet" onClick={() => work.chance.stop()}>
                Stop
              </button>
            </p>
          ) : (
            drawn.length === 0 && (
              <p>
                {chance.stopped && "Stopped. "}
                {chance.dropped && "What was drawn together belonged to the job before the edit. "}
                <button type="button" className="quiet" onClick={() => work.drawChance()}>
                  Draw all unknowns together
                </button>{" "}
                <span className="small">
                  Soil, groundwater, voids, roof loss and the luck of the years, 500 times through the rain
                  record; some seconds.
                </span>
              </p>
            )
          )}
          {chance.trouble && <p className="trouble">{chance.trouble}</p>}
        </>
      )}
      <details>
        <summary>What the chance rests on</summary>
        <ul>
          {found.lines.filter(Boolean).map((words) => (
            <li key={words}>{said(words)}</li>
          ))}
        </ul>
      </details>
    </section>
  );
}
