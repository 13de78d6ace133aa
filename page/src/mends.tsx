// What would mend an answer: single changes, each tried by the service; one press makes one an ordinary edit.
import { useSyncExternalStore } from "react";
import type { Answer, Mend } from "./api";
import { plainly } from "./words";
import type { Work } from "./work";

export function Mends({ work, answer }: { work: Work; answer: Answer }) {
  const { mends, mended, stale } = useSyncExternalStore(work.listen, () => work.state);
  const mine = mends.found?.question === answer.question ? mends.found : null;
  const other = mends.found !== null && mine === null;
  const running = mends.words !== "" && mine !== null;
  const needed = answer.verdict === "fails" || answer.verdict === "close" || answer.verdict === "unknown";
  if (!needed && !mended) return null;
  const rows = mine?.rows ?? [];
  return (
    <section className="longer" aria-label={`What would mend answer ${answer.question}`}>
      {needed && <h3>What would mend it</h3>}
      {mended && (
        <p role="status" ref={intoView}>
          Done: {mended}.{" "}
          <button type="button" className="quiet" onClick={() => work.undo()}>
            Undo
          </button>
        </p>
      )}
      {needed && (
        <>
          {!running && !mine?.tried && (
            <p>
              {mine && mends.stopped && "Stopped. "}
              {mends.dropped &&
                !mended &&
                "The changes that were tried belonged to the job before the edit. "}
              <button
                type="button"
                className="quiet"
                disabled={stale}
                onClick={() => work.lookForMends(answer.question)}
              >
                Try changes
              </button>{" "}
              <span className="small">
                One at a time, each designed and judged anew; some seconds.
                {other && mends.words && " Those of another answer are being tried: they will stop."}
              </span>
            </p>
          )}
          {running && (
            <p aria-live="polite">
              Trying {mends.words}.{" "}
              <button type="button" className="quiet" onClick={() => work.mends.stop()}>
                Stop
              </button>
            </p>
          )}
          {mine && mends.trouble && <p className="trouble">{mends.trouble}</p>}
          {mine?.tried && <p>{mine.tried.words}</p>}
          {rows.length > 0 && (
            <ul className="findings" aria-label="Changes that mend it">
              {[...rows.filter((row) => row.whole), ...rows.filter((row) => !row.whole)].map((row) => (
                <One key={row.what} row={row} onApply={() => work.apply(row)} />
              ))}
            </ul>
          )}
          {mine?.tried && mine.tried.measures.length > 0 && (
            <>
              <p className="small">No change mends what nobody has measured:</p>
              <ul className="small">
                {mine.tried.measures.map((words) => (
                  <li key={words}>{plainly(words)}.</li>
                ))}
              </ul>
            </>
          )}
        </>
      )}
    </section>
  );
}

/** The list of changes goes as one is applied: what was done must not stand out of sight, nor its Undo. */
function intoView(element: HTMLElement | null): void {
  element?.scrollIntoView({ block: "center" });
}

function One({ row, onApply }: { row: Mend; onApply: () => void }) {
  return (
    <li className="finding">
      <p className="sum">
        <span className="what">{row.what}</span>
        <span>{row.whole ? row.verdict : "in part"}</span>
      </p>
      <p>{row.turns}</p>
      <p className="small">{row.met.map((words) => `${words}.`).join(" ")}</p>
      {row.moves.length > 0 && <p className="small">What else changes: {row.moves.join(" ")}</p>}
      <p className="small">{row.takes}</p>
      <button type="button" className="quiet" onClick={onApply}>
        Apply
      </button>
    </li>
  );
}
