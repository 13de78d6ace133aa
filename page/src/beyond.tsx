// What lies beyond the design storm, as it comes; shown, never judged.
import type { BeyondTable, YearsTable } from "./api";
import { Chance } from "./chance";
import type { Beyond } from "./further";
import { plainly } from "./words";
import type { Work } from "./work";

export function BeyondBlock({ work, beyond }: { work: Work; beyond: Beyond }) {
  return (
    <section className="block" aria-label="Beyond the design storm">
      <h2>Beyond the design storm</h2>
      {beyond.words && (
        <p aria-live="polite">
          Working out: {beyond.words}.{" "}
          <button type="button" className="quiet" onClick={() => work.further.stop()}>
            Stop
          </button>
        </p>
      )}
      {beyond.stopped && !beyond.words && (
        <p>
          Stopped.{" "}
          <button type="button" className="quiet" onClick={() => work.further.begin()}>
            Work it out
          </button>
        </p>
      )}
      {beyond.trouble && <p className="trouble">{beyond.trouble}</p>}
      {beyond.beyond && <Larger work={work} found={beyond.beyond} />}
      {beyond.years && <Years found={beyond.years} />}
    </section>
  );
}

function Larger({ work, found }: { work: Work; found: BeyondTable }) {
  return (
    <>
      <p className="small">Shown, not judged. {found.basis}</p>
      {found.warnings.map((words) => (
        <p key={words} className="trouble">
          {words}
        </p>
      ))}
      {found.chance && <Chance work={work} found={found.chance} />}
      {found.held.map((words) => (
        <p key={words}>{words}</p>
      ))}
      <ul className="findings">
        {found.stress.map((row) => (
          <li key={row.what + row.well} className="finding">
            <p className="what">{row.what}</p>
            <p>
              {[row.well, row.level, row.spills && `spills ${row.spills}`, row.goes]
                .filter(Boolean)
                .join(", ")}
            </p>
            {row.house && <p className="small">In the pipes {row.house}</p>}
          </li>
        ))}
      </ul>
      {found.notes.map((words) => (
        <p key={words} className="small">
          {plainly(words)}
        </p>
      ))}
      {found.rules.length > 0 && (
        <details>
          <summary>{found.governing}</summary>
          <ul>
            {found.rules.map((row) => (
              <li key={row.what + row.well}>
                {row.well} {row.what}: {row.wanted} against {row.had}
                {row.share && `, ${row.share}`}
                {row.governs && ", asks most"} <span className="small">{row.source}</span>
              </li>
            ))}
          </ul>
        </details>
      )}
      {found.record && (
        <Lines
          title="The gauge record beside the rain table"
          lines={[
            found.record.sentence,
            found.record.basis,
            ...found.record.rows.map(
              (row) =>
                `${row.what}: ${row.record}, ${row.within}${row.table ? `; the table ${row.table}` : ""}${row.said ? ` (${row.said})` : ""}`,
            ),
          ]}
        />
      )}
      {found.rates && (
        <Lines title="Overrun over the years" lines={[found.rates.basis, ...found.rates.lines]} />
      )}
      {found.floods.length > 0 && <Lines title="The days it flooded" lines={found.floods} />}
    </>
  );
}

function Years({ found }: { found: YearsTable }) {
  return (
    <>
      <h3>The well in years</h3>
      {[...found.sentences, ...found.care].map((words) => (
        <p key={words}>{words}</p>
      ))}
      <details>
        <summary>Year by year</summary>
        <ul>
          {found.rows.map((row) => (
            <li key={row.well + row.age + row.care}>
              {[row.well, row.age, row.care].filter(Boolean).join(", ")}: holds {row.held} of the storm,
              empties in {row.empties}
              {row.spills && `, spills ${row.spills} times a year`}
              {row.silt && `, silt on the floor ${row.silt}`}
            </li>
          ))}
        </ul>
        {found.basis.map((words) => (
          <p key={words} className="small">
            {words}
          </p>
        ))}
      </details>
    </>
  );
}

function Lines({ title, lines }: { title: string; lines: string[] }) {
  return (
    <details>
      <summary>{title}</summary>
      <ul>
        {lines.filter(Boolean).map((words) => (
          <li key={words}>{words}</li>
        ))}
      </ul>
    </details>
  );
}
