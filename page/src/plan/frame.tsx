// What stands round the plan: the nine verdicts in short, the scale bar, true north.
import { margin } from "../answers";
import type { Answered, Leaf } from "../api";
import { at } from "../paths";
import { Vial } from "../vial";
import type { Unit } from "./lengths";

/** The nine verdicts, small: what a move on the plan does to them. */
export function Short({ answered, stale }: { answered: Answered | null; stale: boolean }) {
  if (!answered) return <p>Rain is falling on the roof. The answers come in a moment.</p>;
  if (!answered.designed) return null;
  return (
    <ol className="plan-answers" aria-label="The nine answers in short" aria-busy={stale}>
      {answered.answers.map((answer) => (
        <li key={answer.question} data-verdict={answer.verdict ?? "none"}>
          <b>{answer.question}</b>
          <span className="unseen">{answer.title}</span>
          {answer.verdict && <Vial verdict={answer.verdict} margin={margin(answer.governing)} />}
          {answer.verdict ?? "nothing to judge"}
        </li>
      ))}
    </ol>
  );
}

export function Scale({ unitsPerPixel, unit }: { unitsPerPixel: number; unit: Unit }) {
  const wide = 180 * unitsPerPixel;
  const ten = 10 ** Math.floor(Math.log10(wide));
  const length = [5, 2, 1].map((n) => n * ten).find((n) => n <= wide) ?? ten;
  const pixels = length / unitsPerPixel;
  return (
    <svg className="plan-scale" width={pixels + 60} height="34" aria-hidden="true">
      <path d={`M8 24h${pixels}v6h${-pixels}z`} fill="var(--sheet)" stroke="var(--ink)" />
      <path d={`M8 24h${pixels / 2}v6h${-pixels / 2}z`} fill="var(--ink)" />
      <text x="8" y="18" textAnchor="middle">
        0
      </text>
      <text x={8 + pixels / 2} y="18" textAnchor="middle">
        {length / 2}
      </text>
      <text x={4 + pixels} y="18">{`${length} ${unit}`}</text>
    </svg>
  );
}

/** True north, where the job says how it lies. */
export function North({ values }: { values: Leaf }) {
  const said = at(values, "frame.north");
  const read = typeof said === "string" ? /^\s*(-?[\d.]+)\s*(deg|degrees|°)/.exec(said) : null;
  if (!read) return null;
  return (
    <svg
      className="plan-north"
      viewBox="-16 -30 32 60"
      width="32"
      height="60"
      role="img"
      aria-label="True north"
    >
      <g transform={`rotate(${-Number(read[1])})`}>
        <path d="M0 24V-14M-6 -8L0 -18L6 -8" fill="none" stroke="var(--ink)" strokeWidth="1.6" />
        <text x="0" y="-20" textAnchor="middle">
          N
        </text>
      </g>
    </svg>
  );
}
