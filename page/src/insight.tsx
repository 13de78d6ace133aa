// The long section, always in sight: which way it follows, the water in it at the chosen moment, the slider through the storm.
import { useEffect, useState } from "react";
import { type Answered, api, type View } from "./api";
import { Drawn } from "./drawing";
import { Moments, type Storm } from "./storm";
import type { Work } from "./work";

export const FULL_WELL = "full-well";

/** Which section is in sight: one of the ways, or the full well, which is drawn when it is asked for. */
export type Sections = {
  ways: View[];
  /** Its name; stays while the ways change their order. */
  name: string;
  shown: number;
  view: View | undefined;
  /** Why there is none to see. */
  none: string;
  choose: (name: string) => void;
};

export function useSections(work: Work, answered: Answered | null, fingerprint: string): Sections {
  const [name, choose] = useState("");
  const [well, setWell] = useState<View | null>();
  const full = name === FULL_WELL;
  useEffect(() => {
    if (!full || fingerprint === "") return;
    const asking = new AbortController();
    api.fullWell(work.state.opened.summary.id, work.question(), asking.signal).then(
      (found) => setWell(found.view),
      () => undefined, // the next answer asks again; without signal the one of before stays
    );
    return () => asking.abort();
  }, [work, full, fingerprint, work.frames.width]);
  const ways = answered?.views.slice(1) ?? [];
  const shown = Math.max(
    0,
    ways.findIndex((view) => view.name === name),
  );
  const none = well === null ? "It is not drawn: no level of water at the house is known." : "Being drawn.";
  return { ways, name, shown, view: full ? (well ?? undefined) : ways[shown], none, choose };
}

export function Insight({
  work,
  sections,
  origin,
  storm,
  moment,
  onMoment,
  touched,
  onTouch,
}: {
  work: Work;
  sections: Sections;
  origin: Answered["origin"];
  storm: Storm | null;
  moment: number;
  onMoment: (moment: number) => void;
  touched: string;
  onTouch: (part: string) => void;
}) {
  const { ways, shown, view, name, choose } = sections;
  const [whole, setWhole] = useState(work.frames.whole);
  const full = name === FULL_WELL;
  const now = storm?.instants[moment];
  const water = (full ? now?.full_well : now?.ways[shown]) ?? null;
  // where somebody measured how high the gutter hangs, the whole wall leaves less room for what lies below
  const measured = !full && view && `${view.name.replace("profile-", "")}.brim_m` in origin;
  return (
    <section className="insight" aria-label="Long section">
      <div className="tabs" role="toolbar" aria-label="Long section of which way">
        {ways.map((one, i) => (
          <button
            key={one.name}
            type="button"
            aria-pressed={!full && i === shown}
            onClick={() => choose(one.name)}
          >
            {one.title.split(",")[0]}
          </button>
        ))}
        <button type="button" aria-pressed={full} onClick={() => choose(FULL_WELL)}>
          To true scale
        </button>
        {measured && (
          <button
            type="button"
            className="wall"
            aria-pressed={!whole}
            onClick={() => {
              work.frames = { ...work.frames, whole: !whole };
              setWhole(!whole);
              work.ask();
            }}
          >
            Cut the wall short
          </button>
        )}
      </div>
      {view ? (
        <Drawn view={view} touched={touched} onTouch={onTouch} water={water} bare />
      ) : (
        <p>{sections.none}</p>
      )}
      {storm && <Moments storm={storm} moment={moment} onMoment={onMoment} gutter={water?.says ?? ""} />}
    </section>
  );
}
