// Distances: a tape round the house and to the lot lines, where the downspouts come down, where a well could stand.
import { useState } from "react";
import { at, isTable } from "../paths";
import { corners, LOT, note, taped, wellSide, wellTape } from "./look";
import { LengthField, Pick } from "./parts";
import type { Asked } from "./questions";

const WORDS: Record<string, string> = {
  along: "house, along the street",
  deep: "house, front to back",
  left: "house to the left lot line",
  right: "house to the right lot line",
  front: "house to the front lot line",
  back: "house to the back lot line",
};
const CORNERS = [
  "front left corner",
  "front, middle",
  "front right corner",
  "right side, middle",
  "back right corner",
  "back, middle",
  "back left corner",
  "left side, middle",
];
// What the job keeps, and how it is said.
const SIDES: [string, string][] = [
  ["behind", "behind the house"],
  ["before", "in front of the house"],
  ["left of", "left of the house"],
  ["right of", "right of the house"],
];

export function Lot({ work, units, looked }: Asked) {
  const values = work.state.values;
  const [tape, setTape] = useState(() => taped(at(values, "buildings.H1.note")));
  const [side, setSide] = useState(() => wellSide(values));
  const [well, setWell] = useState(() => wellTape(values));
  const spouts = at(values, "downspouts");
  const labels = isTable(spouts) ? Object.keys(spouts) : [];
  const where = corners(values);
  const unread = (name: string) => looked.look?.unread.find((one) => one.name === name)?.message;
  const keepWell = (nextSide: string, next: Record<string, string>) => {
    const said = [`${nextSide} the house`, note(next)].filter(Boolean).join("; ");
    work.edit("wells.W1.note", said);
  };
  const beside = side === "left of" || side === "right of";
  return (
    <>
      <p>
        Stand in the street and face the house: left and right are yours from there. A house with corners
        counts as the rectangle around it; the plan is put right later.
      </p>
      <div className="pairs">
        {LOT.map((name) => (
          <LengthField
            key={name}
            label={WORDS[name] ?? name}
            value={tape[name] ?? ""}
            units={units}
            wrong={unread(name)}
            onValue={(text) => {
              const next = { ...tape, [name]: text };
              setTape(next);
              work.edit("buildings.H1.note", note(next) || null);
            }}
          />
        ))}
      </div>
      <h2>Where do the downspouts come down?</h2>
      <div className="pairs">
        {labels.map((label) => (
          <Pick
            key={label}
            label={label}
            value={where[label] ?? ""}
            none="choose"
            options={CORNERS.map((one) => ({ value: one, words: one }))}
            onValue={(corner) => work.edit(`downspouts.${label}.note`, corner || null)}
          />
        ))}
      </div>
      <h2>Where could a well stand?</h2>
      <div className="pairs">
        <Pick
          label="side of the house"
          value={side}
          none="don't know yet"
          options={SIDES.map(([value, words]) => ({ value, words }))}
          onValue={(next) => {
            setSide(next);
            if (next) keepWell(next, well);
            else work.edit("wells.W1", null);
          }}
        />
        {side && (
          <>
            <LengthField
              label="from that wall to the well"
              value={well.well_off ?? ""}
              units={units}
              wrong={unread("well_off")}
              onValue={(text) => {
                const next = { ...well, well_off: text };
                setWell(next);
                keepWell(side, next);
              }}
            />
            <LengthField
              label={beside ? "from the front lot line to the well" : "from the left lot line to the well"}
              value={well.well_along ?? ""}
              units={units}
              wrong={unread("well_along")}
              onValue={(text) => {
                const next = { ...well, well_along: text };
                setWell(next);
                keepWell(side, next);
              }}
            />
          </>
        )}
      </div>
    </>
  );
}
