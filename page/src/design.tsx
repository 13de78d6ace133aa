// The design: drawings, nine answers, papers.
import { useEffect, useRef, useState, useSyncExternalStore } from "react";
import { Band, OpenAnswer } from "./answers";
import { api, type PaperSummary } from "./api";
import { BeyondBlock } from "./beyond";
import { Dot } from "./dot";
import { Drawn } from "./drawing";
import { Insight, useSections } from "./insight";
import { Mends } from "./mends";
import { PaperLink } from "./paper";
import { Pictures } from "./pictures";
import { Chart, useStorm } from "./storm";
import { Under } from "./under";
import { WhatIf } from "./whatif";
import { grouped } from "./words";
import type { Work } from "./work";
import { Years } from "./years";

// The service letters its drawings for paper, 7 to 9 points; on the screen they are drawn this much larger.
const DRAWN = 1.6;
// Narrower than this the figures of a long section would run into each other; a phone moves the drawing sideways.
const LEAST = 720;

// As in look.css: from here on the margin stands under the drawings, too far from a question to answer it.
const NARROW = matchMedia("(max-width: 1199px)");

function useNarrow(): boolean {
  return useSyncExternalStore(
    (told) => {
      NARROW.addEventListener("change", told);
      return () => NARROW.removeEventListener("change", told);
    },
    () => NARROW.matches,
  );
}

export function Design({ work }: { work: Work }) {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const [open, setOpen] = useState(0);
  const [touched, setTouched] = useState("");
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
      const plan = narrow ? width : Math.max(300, Math.min(560, innerHeight * 0.7));
      // low enough that answers and edits are seen beside it, for it stays in sight
      const section = narrow ? 210 : Math.max(190, Math.min(420, innerHeight * 0.36));
      const frames = { ...work.frames, width: width / DRAWN, plan: plan / DRAWN, section: section / DRAWN };
      if (
        frames.width === work.frames.width &&
        frames.plan === work.frames.plan &&
        frames.section === work.frames.section
      )
        return;
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
  const narrow = useNarrow();
  const answered = state.answered;
  const worst =
    answered?.answers.find((a) => a.verdict === "fails") ??
    answered?.answers.find((a) => a.verdict === "unknown") ??
    answered?.answers.find((a) => a.verdict === "close") ??
    answered?.answers[4];
  // beside the drawings one answer is always open; where it stands among the nine, only one that was asked for
  const answer = answered?.answers.find((a) => a.question === open) ?? (narrow ? undefined : worst);
  const plan = answered?.views[0];
  const fingerprint = state.stale ? "" : (answered?.fingerprint ?? "");
  const sections = useSections(work, answered, fingerprint);
  const storm = useStorm(work, fingerprint);
  const [chosen, setChosen] = useState<number | null>(null);
  const moment = storm ? Math.min(chosen ?? storm.hardest, storm.instants.length - 1) : 0;
  const opened = answer && answered && (
    <OpenAnswer
      answer={answer}
      basis={{ values: state.values, answered }}
      more={state.beyond.words !== "" && answered.follows.includes(answer.question)}
      onTouch={setTouched}
    >
      <Mends work={work} answer={answer} />
    </OpenAnswer>
  );
  return (
    <main className="sheet" aria-busy={state.stale}>
      <div className="drawings" ref={frame}>
        {!answered && <p>Rain is falling on the roof. The answers come in a moment.</p>}
        {answered && !answered.designed && (
          <p>Nothing could be read of this document yet: see what there is to put right.</p>
        )}
        {answered && sections.ways.length > 0 && (
          <Insight
            work={work}
            sections={sections}
            origin={answered.origin}
            storm={storm}
            moment={moment}
            onMoment={setChosen}
            touched={touched}
            onTouch={setTouched}
          />
        )}
        {answered?.designed && (
          <Band
            answered={answered}
            open={answer?.question ?? 0}
            onOpen={(one) => setOpen(narrow && one === open ? 0 : one)}
            inside={narrow ? opened : undefined}
          />
        )}
        {plan && <Drawn view={plan} touched={touched} onTouch={setTouched} />}
        {sections.view && <Under view={sections.view} />}
        {answered?.designed && <Pictures work={work} fingerprint={fingerprint} />}
        {storm && <Chart storm={storm} moment={moment} onMoment={setChosen} />}
        {answered?.designed && <Years work={work} fingerprint={fingerprint} />}
        {answered?.what_if && <WhatIf found={answered.what_if} />}
        {answered?.designed && <BeyondBlock work={work} beyond={state.beyond} />}
      </div>
      <div className="margin">
        {!narrow && opened}
        {answered?.designed && (
          <>
            <div className="block">
              <h3>Where its sizes and levels come from</h3>
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
                <div className="small">
                  <p>Papers for digging wait for these:</p>
                  <ul className="waits">
                    {grouped(answered.waits).map(([question, items]) => (
                      <li key={question}>
                        {question} {items.join("; ")}
                      </li>
                    ))}
                  </ul>
                </div>
              )}
              <ul className="papers">
                {papers.map((paper) => (
                  <PaperLink
                    key={paper.name}
                    job={state.opened.summary.id}
                    paper={paper}
                    number={state.opened.version.number}
                  />
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
