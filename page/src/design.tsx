// The design: drawings, nine answers, papers.
import { useEffect, useRef, useState, useSyncExternalStore } from "react";
import { Band, OpenAnswer } from "./answers";
import { api, type PaperSummary } from "./api";
import { Dot } from "./dot";
import { Drawn } from "./drawing";
import { WhatIf } from "./whatif";
import type { Work } from "./work";

// The service letters its drawings for paper, 7 to 9 points; on the screen they are drawn this much larger.
const DRAWN = 1.6;
// Narrower than this the figures of a long section would run into each other; a phone moves the drawing sideways.
const LEAST = 720;

export function Design({ work }: { work: Work }) {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const [open, setOpen] = useState(0);
  const [touched, setTouched] = useState("");
  const [way, setWay] = useState(0);
  const [papers, setPapers] = useState<PaperSummary[]>([]);
  const frame = useRef<HTMLDivElement>(null);
  useEffect(() => {
    api.papers().then(setPapers, () => undefined);
  }, []);
  useEffect(() => {
    const holder = frame.current;
    if (!holder) return;
    let timer: ReturnType<typeof setTimeout> | undefined;
    const watch = new ResizeObserver(() => {
      const width = Math.max(LEAST, Math.floor(holder.clientWidth));
      const narrow = holder.clientWidth < LEAST;
      const plan = narrow ? width : Math.max(220, Math.min(380, innerHeight * 0.4));
      const frames = {
        width: width / DRAWN,
        plan: plan / DRAWN,
        section: Math.max(220, innerHeight * 0.4) / DRAWN,
      };
      if (frames.width === work.frames.width && frames.plan === work.frames.plan) return;
      work.frames = frames;
      clearTimeout(timer);
      timer = setTimeout(() => work.ask(), 150);
    });
    watch.observe(holder);
    return () => {
      clearTimeout(timer);
      watch.disconnect();
    };
  }, [work]);
  const answered = state.answered;
  const worst =
    answered?.answers.find((a) => a.verdict === "fails") ??
    answered?.answers.find((a) => a.verdict === "unknown") ??
    answered?.answers.find((a) => a.verdict === "close") ??
    answered?.answers[4];
  const answer = answered?.answers.find((a) => a.question === open) ?? worst;
  const [plan, ...sections] = answered?.views ?? [];
  const shown = Math.min(way, Math.max(sections.length - 1, 0));
  const section = sections[shown];
  return (
    <main className="sheet" aria-busy={state.stale}>
      <div className="drawings" ref={frame}>
        {!answered && <p>Rain is falling on the roof. The answers come in a moment.</p>}
        {answered && !answered.designed && (
          <p>Nothing could be read of this document yet: see what there is to put right.</p>
        )}
        {plan && <Drawn view={plan} touched={touched} onTouch={setTouched} />}
        {answered?.designed && <Band answered={answered} open={answer?.question ?? 0} onOpen={setOpen} />}
        {sections.length > 1 && (
          <div className="tabs" role="toolbar" aria-label="Long section of which way">
            {sections.map((view, i) => (
              <button key={view.name} type="button" aria-pressed={i === shown} onClick={() => setWay(i)}>
                {view.title}
              </button>
            ))}
          </div>
        )}
        {section && <Drawn view={section} touched={touched} onTouch={setTouched} />}
        {answered?.what_if && <WhatIf found={answered.what_if} />}
      </div>
      <div className="margin">
        {answer && <OpenAnswer answer={answer} onTouch={setTouched} />}
        {answered?.designed && (
          <>
            <div className="block">
              <h3>This design rests on</h3>
              <p className="rests">
                {(["given", "designed", "assumed", "missing"] as const).map((kind) => (
                  <span key={kind}>
                    <Dot kind={kind} /> {answered.counts[kind] ?? 0} {kind}
                  </span>
                ))}
              </p>
              {answered.open_sizes && <p>{answered.open_sizes}</p>}
            </div>
            <div className="block">
              <h3>Papers</h3>
              {answered.waits.length > 0 && (
                <p className="small">Papers for digging wait: {answered.waits.join("; ")}</p>
              )}
              <ul className="papers">
                {papers.map((paper) => (
                  <li key={paper.name}>
                    <a
                      href={`api/jobs/${state.opened.summary.id}/papers/${paper.name}`}
                      target="_blank"
                      rel="noreferrer"
                    >
                      {paper.file}
                    </a>
                    <span className="small">{paper.what}</span>
                  </li>
                ))}
              </ul>
              {state.kept !== "kept" && (
                <p className="small">Papers are made of the last version that was kept.</p>
              )}
            </div>
          </>
        )}
      </div>
    </main>
  );
}
