// Two versions side by side: what was changed, and how the answers and the figures moved.
import { useEffect, useState } from "react";
import { api, type Compared } from "./api";
import { Vial } from "./vial";
import { placed } from "./words";

type Row = Compared["moved"]["answers"][number];

export function SideBySide({ job, older, newer }: { job: string; older: number; newer: number }) {
  const [found, setFound] = useState<Compared | null>(null);
  const [trouble, setTrouble] = useState("");
  useEffect(() => {
    const asking = new AbortController();
    setFound(null);
    setTrouble("");
    api.moved(job, older, newer, asking.signal).then(setFound, (error: Error) => {
      if (!asking.signal.aborted) setTrouble(error.message);
    });
    return () => asking.abort();
  }, [job, older, newer]);
  if (trouble)
    return (
      <p className="trouble" role="alert">
        {trouble}
      </p>
    );
  if (!found) return <p aria-live="polite">Both versions are being designed.</p>;
  const moved = found.moved.answers.filter((row) => row.moved);
  const figures = found.moved.figures.filter((row) => row.moved);
  return (
    <section aria-label={`Version ${older} beside version ${newer}`}>
      <h4>What was changed</h4>
      {found.changes.length === 0 && <p className="small">Nothing but remarks.</p>}
      {together(found.changes).map((line) => (
        <p key={line} className="small">
          {line}
        </p>
      ))}
      {found.problems.some((count) => count > 0) && (
        <p className="small">
          Things to put right: {found.problems[0]} in version {older}, {found.problems[1]} in version {newer}.
          What is wrong counts as missing.
        </p>
      )}
      <h4>
        {moved.length === 0 && figures.length === 0
          ? "No answer and no figure moved"
          : `What moved: ${moved.length} of the nine answers`}
      </h4>
      {(moved.length > 0 || figures.length > 0) && (
        <Table older={older} newer={newer} answers={moved} figures={figures} />
      )}
      {moved.flatMap((row) =>
        row.findings.map((one) => (
          <p key={one.code + one.subject} className="small">
            {one.subject} {one.code.replaceAll("-", " ")}: {one.older ?? "not asked"} became{" "}
            {one.newer ?? "not asked"}
          </p>
        )),
      )}
      <details>
        <summary>All nine answers and figures</summary>
        <Table older={older} newer={newer} answers={found.moved.answers} figures={found.moved.figures} />
      </details>
    </section>
  );
}

/** Changed leaves in words; what came or went whole, such as a reading or a part, in one line. */
function together(changes: Compared["changes"]): string[] {
  const lines: { of: string; said: string; leaves: string[] }[] = [];
  for (const { path, older, newer } of changes) {
    const said = older === null ? "new" : newer === null ? "taken out" : "";
    const cut = path.lastIndexOf(".");
    if (!said || cut < 0) {
      const what = said ? `${newer ?? older}, ${said}` : `${older} became ${newer}`;
      lines.push({ of: placed(path) || "the document", said: "", leaves: [what] });
      continue;
    }
    const of = placed(path.slice(0, cut));
    const leaf = `${placed(path.slice(cut + 1))} ${newer ?? older}`;
    const last = lines[lines.length - 1];
    if (last?.of === of && last.said === said) last.leaves.push(leaf);
    else lines.push({ of, said, leaves: [leaf] });
  }
  return lines.map(({ of, said, leaves }) => `${of}: ${[...leaves, said].filter(Boolean).join(", ")}`);
}

function Table({
  older,
  newer,
  answers,
  figures,
}: {
  older: number;
  newer: number;
  answers: Row[];
  figures: Compared["moved"]["figures"];
}) {
  return (
    <table className="beside">
      <thead>
        <tr>
          <th scope="col">Answer</th>
          <th scope="col">Version {older}</th>
          <th scope="col">Version {newer}</th>
        </tr>
      </thead>
      <tbody>
        {answers.map((row) => (
          <tr key={row.question}>
            <th scope="row">
              {row.question} {row.title}
            </th>
            <Cell verdict={row.older} text={row.older_text} />
            <Cell verdict={row.newer} text={row.newer_text} />
          </tr>
        ))}
        {figures.map((row) => (
          <tr key={row.what}>
            <th scope="row">{row.what}</th>
            <td>{row.older}</td>
            <td>{row.newer}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Cell({ verdict, text }: { verdict: Row["older"]; text: string }) {
  return (
    <td>
      {verdict && (
        <>
          <Vial verdict={verdict} margin={1} /> {verdict}
          {text && ", "}
        </>
      )}
      {text || (verdict ? "" : "nothing to judge")}
    </td>
  );
}
