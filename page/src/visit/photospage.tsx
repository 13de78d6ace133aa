// Photos of the visit: taken, shown, kept here until the service has them (see files.ts), named by the document at once.
import { useState } from "react";
import type { Leaf } from "../api";
import { Pick } from "../first/parts";
import { at, isTable } from "../paths";
import type { Work } from "../work";

export function PhotosOfVisit({ work }: { work: Work }) {
  const [shows, setShows] = useState("");
  const [of, setOf] = useState("");
  const [trouble, setTrouble] = useState("");
  const found = at(work.state.values, "attachments");
  const attached = isTable(found) ? Object.entries(found) : [];
  return (
    <section className="visitpart" aria-label="Photos">
      <label className="field">
        <span>What the next photo shows</span>
        <input value={shows} maxLength={200} onChange={(event) => setShows(event.target.value)} />
      </label>
      <Pick
        label="What it belongs to"
        value={of}
        none="the whole job"
        options={labelled(work.state.values).map((one) => ({ value: one, words: one }))}
        onValue={setOf}
      />
      <label className="main keep take">
        Take a photo
        <input
          type="file"
          accept="image/*"
          capture="environment"
          onChange={(event) => {
            const file = event.target.files?.[0];
            event.target.value = "";
            if (!file) return;
            work.attach(file, of, shows.trim()).then(
              () => setShows(""),
              (error: Error) => setTrouble(`The photo was not taken in: ${error.message}`),
            );
          }}
        />
      </label>
      {trouble && (
        <p className="trouble" role="alert">
          {trouble}
        </p>
      )}
      {attached.length === 0 && (
        <p>
          The wall that gets wet, each downspout, the low end of the lot, the hole with the tape in it: a
          finding without a picture is soon a matter of opinion.
        </p>
      )}
      <ul className="photos">
        {attached.map(([label, one]) => {
          if (!isTable(one)) return null;
          const name = String(one.file);
          const file = work.state.files.find((each) => each.name === name);
          const words = String(one.shows ?? "");
          return (
            <li key={label}>
              {file && /\.(jpe?g|png|webp)$/i.test(name) && (
                <img src={file.url} alt={words || `Photo ${label}`} />
              )}
              <p>
                <strong>{String(one.of ?? label)}</strong> {words}
              </p>
              {file?.refused ? (
                <p className="trouble">Not kept: {file.refused}</p>
              ) : (
                file?.waiting && <p className="small">Kept in this browser, goes out by itself</p>
              )}
            </li>
          );
        })}
      </ul>
    </section>
  );
}

const TABLES = ["downspouts", "basins", "wells", "outlets", "features", "buildings"];

/** Labels of the parts that a photo can belong to, and of the holes in the soil. */
function labelled(values: Leaf): string[] {
  const parts = TABLES.flatMap((table) => {
    const found = at(values, table);
    return isTable(found) ? Object.keys(found) : [];
  });
  const holes = at(values, "soil.auger_tests");
  const tests = Array.isArray(holes) ? holes.filter(isTable).map((one) => String(one.id)) : [];
  return [...parts, ...tests];
}
