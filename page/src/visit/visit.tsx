// The visit: one thing at a time, each reading where it belongs, each told at once; made for a phone in one hand.
import { useEffect, useRef, useState, useSyncExternalStore } from "react";
import { useLook } from "../first/look";
import { at, isTable } from "../paths";
import type { Work } from "../work";
import { PhotosOfVisit } from "./photospage";
import { ShotsOfVisit } from "./shots";
import { SoilOfVisit, testsOf } from "./soil";
import { LotOfVisit, lotSeen, RoofOfVisit, roofSeen } from "./things";

const PARTS = ["Shots", "Soil", "Roof", "Lot", "Photos"] as const;
type Part = (typeof PARTS)[number];

export function Visit({ work }: { work: Work }) {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const [part, setPart] = useState<Part>("Shots");
  const units = at(state.values, "job.units") === "metric" ? "metric" : "us";
  const unit = units === "us" ? "ft" : "m";
  const { look, problems, trouble } = useLook(work, units);
  useEffect(() => {
    work.quiet = true;
    return () => {
      work.quiet = false;
      work.ask();
    };
  }, [work]);
  const page = useRef<HTMLElement>(null);
  useEffect(() => {
    // on a low phone the pad and the button under it fit once the head has gone up
    if (innerWidth <= 480 && innerHeight < 760) page.current?.scrollIntoView();
  }, []);
  return (
    <main className="visit" ref={page}>
      <div className="parts5" role="toolbar" aria-label="Parts of the visit">
        {PARTS.map((one) => (
          <button key={one} type="button" aria-pressed={part === one} onClick={() => setPart(one)}>
            {one}
            <span className="small">{count(one, work)}</span>
          </button>
        ))}
      </div>
      {trouble && (
        <p className="says" role="status">
          {trouble}
        </p>
      )}
      {part === "Shots" && <ShotsOfVisit work={work} unit={unit} problems={problems} />}
      {part === "Soil" && <SoilOfVisit work={work} unit={unit} look={look} problems={problems} />}
      {part === "Roof" && <RoofOfVisit work={work} look={look} problems={problems} />}
      {part === "Lot" && <LotOfVisit work={work} unit={unit} problems={problems} />}
      {part === "Photos" && <PhotosOfVisit work={work} />}
    </main>
  );
}

function count(part: Part, work: Work): string {
  const values = work.state.values;
  if (part === "Roof" || part === "Lot") {
    const [seen, asked] = part === "Roof" ? roofSeen(values) : lotSeen(values);
    return asked ? `${seen} of ${asked}` : "none";
  }
  if (part === "Soil") {
    const tests = testsOf(values).length;
    return tests ? String(tests) : "none";
  }
  const found = at(values, { Shots: "survey.readings", Photos: "attachments" }[part]);
  const entries = Array.isArray(found) ? found.filter(isTable) : isTable(found) ? Object.keys(found) : [];
  const counted = entries.filter((one) => !isTable(one) || one.kind !== "backsight").length;
  return counted ? String(counted) : "none";
}
