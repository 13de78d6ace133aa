import type { Answer, Answered, Finding } from "./api";
import { type Basis, From } from "./from";
import { Vial } from "./vial";
import { capital, plainly } from "./words";

/** How much of the limit is to spare, 0 to 1; a full share where there is no limit to speak of. */
export function margin(finding: Finding | null): number {
  if (!finding || finding.spare === null || finding.limit === null) return 1;
  return finding.limit === 0 ? 1 : Math.abs(finding.spare / finding.limit);
}

const HELD = "At once, with the sizes of before the edit; they are being designed again.";

export function Band({
  answered,
  open,
  onOpen,
  inside,
}: {
  answered: Answered;
  open: number;
  onOpen: (n: number) => void;
  /** The answer that is open, where it stands under its question and not in the margin. */
  inside?: React.ReactNode;
}) {
  return (
    <ol className="answers" aria-label="The nine answers">
      {answered.answers.map((answer) => (
        <li
          key={answer.question}
          data-verdict={answer.verdict ?? "none"}
          data-inside={inside != null && open === answer.question ? "yes" : undefined}
        >
          <button
            type="button"
            aria-expanded={open === answer.question}
            onClick={({ currentTarget }) => {
              // an answer over it that closes must not carry this question away from under the thumb
              const stood = currentTarget.getBoundingClientRect().top;
              onOpen(answer.question);
              requestAnimationFrame(() => scrollBy(0, currentTarget.getBoundingClientRect().top - stood));
            }}
          >
            <span className="q">
              <span className="n">{answer.question}</span> {answer.title}
            </span>
            <span className="v">
              {answer.verdict && <Vial verdict={answer.verdict} margin={margin(answer.governing)} />}
              {answer.verdict ?? "nothing to judge"}
            </span>
            <span className="g">{headline(answer, answered)}</span>
            <span className="l">{meaning(answer, answered)}</span>
          </button>
          {open === answer.question && inside}
        </li>
      ))}
    </ol>
  );
}

/** The number; of what it takes the price, asked for at every glance: a range while the sizes are open. */
function headline(answer: Answer, { draft }: Answered): string {
  const one = answer.governing;
  if (answer.question === 8) return draft?.price || draft?.digging || "";
  if (answer.verdict === "unknown") return `missing: ${one?.missing[0]?.what ?? "a measurement"}`;
  return one?.value_text.split("; ")[0] ?? "";
}

/** What the number over it is, and what it must be: no number says that by itself. */
function meaning({ question, governing: one }: Answer, { draft }: Answered): string {
  if (question === 8) return [draft?.price && draft.digging, one?.limit_text].filter(Boolean).join("; ");
  return one ? [one.value_of || one.subject, one.limit_text].filter(Boolean).join("; ") : "";
}

export function OpenAnswer({
  answer,
  basis,
  more = false,
  onTouch,
  children,
}: {
  answer: Answer;
  basis: Basis;
  /** Its words are not all there yet; its verdict is. */
  more?: boolean;
  onTouch: (part: string) => void;
  /** What would mend it. */
  children?: React.ReactNode;
}) {
  const own = answer.governing;
  const rest = answer.findings.filter((one) => one.code !== own?.code || one.subject !== own.subject);
  const needing = rest.filter((finding) => finding.verdict !== "good");
  const good = rest.filter((finding) => finding.verdict === "good");
  return (
    <section className="open" aria-live="polite" aria-label={`Answer ${answer.question}`}>
      <h2>
        {answer.question} {answer.title}
      </h2>
      <p className="verdict" data-verdict={answer.verdict ?? "none"}>
        {answer.verdict && <Vial verdict={answer.verdict} margin={margin(answer.governing)} />}
        {answer.verdict ?? "nothing to judge"}
      </p>
      <p>{answer.sentence}</p>
      {answer.detail && <p className="small">{answer.detail}</p>}
      {basis.answered.held && <p className="held small">{HELD}</p>}
      {more && <p className="small">The largest storm that it holds, and the chance of spills, follow.</p>}
      {children}
      <div className="findings">
        {own && <One finding={own} told={answer.sentence} basis={basis} onTouch={onTouch} />}
        {needing.map((finding) => (
          <One key={`${finding.code} ${finding.subject}`} finding={finding} basis={basis} onTouch={onTouch} />
        ))}
        {good.length > 0 && (
          <details className="more">
            <summary>{good.length === 1 ? "One more, good" : `${good.length} more, all good`}</summary>
            {good.map((finding) => (
              <One
                key={`${finding.code} ${finding.subject}`}
                finding={finding}
                basis={basis}
                onTouch={onTouch}
              />
            ))}
          </details>
        )}
      </div>
    </section>
  );
}

/** One finding; its sentence is left out where the answer over it has begun with the same words. */
function One({
  finding,
  told = "",
  basis,
  onTouch,
}: {
  finding: Finding;
  told?: string;
  basis: Basis;
  onTouch: (part: string) => void;
}) {
  const part = finding.subject.split(" ")[0] ?? "";
  const before = basis.answered.of_before.includes(finding.code);
  return (
    <article className="finding">
      <p className="sum">
        <span className="what">
          {capital(finding.value_of || finding.subject || finding.code.replaceAll("-", " "))}
        </span>
        <span className={finding.verdict === "fails" ? "trouble" : ""}>{finding.verdict}</span>
      </p>
      {before && <p className="held small">From before the edit; it is being worked out again.</p>}
      {!told.startsWith(finding.sentence) && <p>{finding.sentence}</p>}
      <p className="small">
        {[finding.value_text, finding.limit_text, finding.spare_text].filter(Boolean).join("; ")}
      </p>
      {finding.missing.map((item) => (
        <p key={item.leaf} className="small">
          Missing: {item.what}. {capital(plainly(item.how))}.
        </p>
      ))}
      <From finding={finding} basis={basis} />
      {part && (
        <button type="button" className="quiet" onClick={() => onTouch(part)}>
          Show {part} in the drawings
        </button>
      )}
    </article>
  );
}
