// The long section under the plan: what a move does to fall and water, seen while it is made.
import { useEffect, useRef, useState } from "react";
import type { Answered } from "../api";
import { Drawn } from "../drawing";
import { useSections } from "../insight";
import type { Work } from "../work";

// As on the design: the service letters for paper, the screen is read from farther away.
const DRAWN = 1.6;
const LEAST = 720;

/** Whether it was left open, for as long as the page is. */
let wanted = true;

export function PlanSection({
  work,
  answered,
  touched,
  onTouch,
}: {
  work: Work;
  answered: Answered | null;
  touched: string;
  onTouch: (part: string) => void;
}) {
  const holder = useRef<HTMLElement>(null);
  const [open, setOpen] = useState(wanted);
  wanted = open;
  const { ways, shown, view, choose } = useSections(work, answered, "");
  const name = open ? (view?.name ?? "") : "";
  useEffect(() => {
    work.asking.section = name;
    return () => {
      work.asking.section = "";
    };
  }, [work, name]);
  useEffect(() => {
    const frame = holder.current;
    if (!frame) return;
    const { whole } = work.frames; // the wall is cut short here: the room is wanted under the lawn
    let timer: ReturnType<typeof setTimeout> | undefined;
    const watch = new ResizeObserver(() => {
      const width = Math.max(LEAST, Math.floor(frame.clientWidth)) / DRAWN;
      const section = Math.max(130, Math.min(300, innerHeight * 0.24)) / DRAWN;
      if (width === work.frames.width && section === work.frames.section && !work.frames.whole) return;
      work.frames = { ...work.frames, width, section, whole: false };
      clearTimeout(timer);
      timer = setTimeout(() => work.ask(), 150);
    });
    watch.observe(frame);
    return () => {
      clearTimeout(timer);
      watch.disconnect();
      work.frames = { ...work.frames, whole };
    };
  }, [work]);
  return (
    <section
      ref={holder}
      className="plan-section"
      aria-label="Long section"
      data-open={open ? "yes" : undefined}
    >
      <div className="tabs" role="toolbar" aria-label="Long section of which way">
        <button type="button" aria-expanded={open} onClick={() => setOpen(!open)}>
          {open ? "Hide the long section" : "Long section"}
        </button>
        {open &&
          ways.map((one, i) => (
            <button key={one.name} type="button" aria-pressed={i === shown} onClick={() => choose(one.name)}>
              {one.title.split(",")[0]}
            </button>
          ))}
      </div>
      {open && view && <Drawn view={view} touched={touched} onTouch={onTouch} bare />}
    </section>
  );
}
