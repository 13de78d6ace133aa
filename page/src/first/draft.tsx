// The draft: how far the sizes are open, a sketch, and the missing measurements by what they are worth.
import { useEffect, useRef, useState, useSyncExternalStore } from "react";
import { Drawn } from "../drawing";
import { capital, plainly } from "../words";
import type { Work } from "../work";

const DRAWN = 1.6;
const FIRST_SHOWN = 5;

export function DraftSheet({
  work,
  onVisit,
  onDesign,
}: {
  work: Work;
  onVisit: () => void;
  onDesign: () => void;
}) {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const [all, setAll] = useState(false);
  const [touched, setTouched] = useState("");
  const frame = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const width = Math.max(720, Math.floor(frame.current?.clientWidth ?? 720));
    work.frames = {
      ...work.frames,
      width: width / DRAWN,
      plan: Math.max(260, innerHeight * 0.5) / DRAWN,
      section: 260 / DRAWN,
    };
  }, [work]);
  // an answer to what was asked before the last question would be read as the draft of this house
  const answered = state.stale && !state.trouble ? null : state.answered;
  const draft = answered?.draft;
  const [plan, section] = answered?.views ?? [];
  const failing = (answered?.answers ?? []).filter((answer) => answer.verdict === "fails");
  const missing = draft ? (all ? draft.missing : draft.missing.slice(0, FIRST_SHOWN)) : [];
  return (
    <div className="draft" aria-busy={state.stale}>
      <p className="stamp">DRAFT: not for digging</p>
      {!draft && !state.trouble && <p>Rain is falling on the roof. The draft comes in a moment.</p>}
      {draft && (
        <>
          <h2 className="headline">{capital(draft.headline)}</h2>
          <p>
            {[
              [draft.digging, draft.price].filter(Boolean).join("; "),
              draft.waits > 0 &&
                `${draft.waits} of the first seven answers wait${draft.waits === 1 ? "s" : ""} for a measurement`,
            ]
              .filter(Boolean)
              .join(". ")}
            .
          </p>
          {failing.length > 0 && (
            <p className="trouble">
              {failing.map((answer) => `${answer.question} ${answer.title}`).join(" ")}{" "}
              {failing.length === 1 ? "This answer fails" : "These answers fail"} as the draft stands: the
              nine answers say why, and what would mend it.
            </p>
          )}
        </>
      )}
      <div className="sketch" ref={frame}>
        {plan && <Drawn view={plan} touched={touched} onTouch={setTouched} />}
        {section && <Drawn view={section} touched={touched} onTouch={setTouched} />}
      </div>
      {draft && draft.missing.length > 0 && (
        <section className="next" aria-labelledby="worth">
          <h2 id="worth">What to measure next</h2>
          <p className="small">{draft.rule}</p>
          <ol className="worth">
            {missing.map((one) => (
              <li key={one.leaf}>
                <h3>{capital(one.what)}</h3>
                <p>{capital(one.words)}</p>
                <p className="small">{capital(plainly(one.how))}.</p>
              </li>
            ))}
          </ol>
          {!all && draft.missing.length > FIRST_SHOWN && (
            <button type="button" className="quiet" onClick={() => setAll(true)}>
              {draft.missing.length - FIRST_SHOWN} more, worth less
            </button>
          )}
        </section>
      )}
      <div className="onward">
        <button type="button" className="main" onClick={onVisit}>
          Measure on the visit
        </button>
        <button type="button" className="quiet" onClick={onDesign}>
          The nine answers and the papers
        </button>
      </div>
    </div>
  );
}
