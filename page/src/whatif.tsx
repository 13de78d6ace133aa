// What happens where one thing fails.
import type { Answered } from "./api";

export function WhatIf({ found }: { found: NonNullable<Answered["what_if"]> }) {
  return (
    <section className="block" aria-label="What if">
      <h2>What if one thing fails</h2>
      <ul className="findings">
        {found.rows.map((row) => (
          <li key={row.letter} className="finding">
            <p className="what">
              {row.letter} {row.what}
            </p>
            <p>{[row.house && `Water up to ${row.house}`, row.below].filter(Boolean).join(", ")}</p>
            <p className="small">
              {[
                row.comes_out && `Cloudburst: ${row.comes_out.replace(/^first/, "water comes out first")}`,
                row.storm,
              ]
                .filter(Boolean)
                .join("; ")}
              {row.judged ? "" : " (shown, not judged)"}
            </p>
          </li>
        ))}
      </ul>
      {found.warnings.map((words) => (
        <p key={words} className="trouble">
          {words}
        </p>
      ))}
      <p className="small">{found.basis}</p>
    </section>
  );
}
