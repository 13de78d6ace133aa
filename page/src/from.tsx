// Where a finding's numbers come from: what the check asks, by whose figures, of which values.
import { useEffect, useState } from "react";
import { type Answered, api, type Finding, type Grounds, type Leaf } from "./api";
import { Dot } from "./dot";
import { at, isTable } from "./paths";
import { plainly } from "./words";

/** What a finding rests on beside its own words: the document's values, what was designed, what was assumed. */
export interface Basis {
  values: Leaf;
  answered: Answered;
}

let known: Promise<Grounds> | null = null;

/** What every check asks and where its figures were read: the same for every job, asked for once. */
function useGrounds(): Grounds {
  const [grounds, setGrounds] = useState<Grounds>({ checks: {}, sources: {} });
  useEffect(() => {
    known ??= api.grounds();
    known.then(setGrounds, () => {
      known = null;
    });
  }, []);
  return grounds;
}

/** Where a finding's numbers come from: what is asked, by whose figures, of which values. */
export function From({ finding, basis }: { finding: Finding; basis: Basis }) {
  const grounds = useGrounds();
  const [open, setOpen] = useState(false);
  const parts = finding.subject.split(/[^A-Za-z0-9_-]+/).filter(Boolean);
  const assumed = basis.answered.assumed.filter((one) => finding.assumed.includes(one.path));
  return (
    <details onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Where it comes from</summary>
      {open && (
        <>
          <p className="small">{grounds.checks[finding.code] ?? finding.code.replaceAll("-", " ")}</p>
          {finding.detail && <p className="small">{finding.detail}</p>}
          <p className="small">Limit read in: {grounds.sources[finding.source] ?? finding.source}.</p>
          {parts.map((part) => (
            <Values key={part} part={part} basis={basis} />
          ))}
          {assumed.length > 0 && (
            <ul className="values" aria-label="Assumed">
              {assumed.map((one) => (
                <li key={one.path}>
                  <Dot kind="assumed" /> {one.what}: {one.text}, assumed. To measure it:{" "}
                  {plainly(one.how_to_measure)}.
                </li>
              ))}
            </ul>
          )}
        </>
      )}
    </details>
  );
}

/** The given and designed values of a part that the finding names. */
function Values({ part, basis }: { part: string; basis: Basis }) {
  const tables = isTable(basis.values) ? Object.keys(basis.values) : [];
  const given = tables.flatMap((table) => {
    const there = at(basis.values, table);
    const own = isTable(there) ? there[part] : undefined;
    return Object.entries(isTable(own) ? own : {}).map(([key, value]) => [key, value, "given"] as const);
  });
  const designed = Object.entries(basis.answered.designed_values)
    .filter(([path]) => path.split(".")[1] === part && path.split(".").length === 3)
    .map(([path, value]) => [path.split(".")[2] ?? "", value, "designed"] as const);
  const all = [...given, ...designed];
  if (all.length === 0) return null;
  return (
    <ul className="values" aria-label={`Values of ${part}`}>
      {all.map(([key, value, kind]) => (
        <li key={key}>
          <Dot kind={kind} /> {part} {key.replaceAll("_", " ")}: {written(value)}, {kind}
        </li>
      ))}
    </ul>
  );
}

/** A value of the document as a person writes it. */
export function written(value: Leaf): string {
  if (Array.isArray(value)) return value.map(written).join(", ");
  if (value === true) return "yes";
  if (value === false) return "no";
  return isTable(value) ? Object.values(value).map(written).join(", ") : String(value);
}
