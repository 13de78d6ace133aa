import { useId, useState } from "react";
import type { Leaf, Problem, Schema, Table } from "./api";
import { Dot } from "./dot";
import { written } from "./from";
import { at, isTable, join } from "./paths";
import type { Work } from "./work";

const SKIPPED = new Set(["document"]);
/** The parts of a job in the order in which a visit meets them; what is named in none stands with the last. */
const GROUPS: [string, string[]][] = [
  ["Job", ["job", "complaint", "place", "attachments"]],
  ["House", ["buildings", "roofs", "gutters", "downspouts"]],
  ["Lot and levels", ["frame", "survey", "features", "site", "utilities"]],
  ["Rain and soil", ["rain", "soil"]],
  ["Under the ground", ["wyes", "runs", "basins", "wells", "overflows", "outlets"]],
  ["What it must do", ["targets", "settings", "prices"]],
];

export function Measure({ work, schema, problems }: { work: Work; schema: Schema; problems: Problem[] }) {
  const sections = Object.entries(schema.properties ?? {})
    .filter(([key, leaf]) => !SKIPPED.has(key) && inner(leaf, schema) !== null)
    .map(([key]) => key);
  const named = new Set(GROUPS.flatMap(([, keys]) => keys));
  const groups = GROUPS.map(([group, keys], n): [string, string[]] => [
    group,
    [
      ...keys.filter((key) => sections.includes(key)),
      ...(n === GROUPS.length - 1 ? sections.filter((key) => !named.has(key)) : []),
    ],
  ]);
  const wrong = (key: string) =>
    problems.some(({ path }) => path === key || path.startsWith(`${key}.`) || path.startsWith(`${key}[`));
  const [section, setSection] = useState("job");
  const choose = (key: string) => {
    setSection(key);
    scrollTo(0, 0);
  };
  const chosen = schema.properties?.[section];
  return (
    <div className="measure">
      <nav aria-label="Parts of the job">
        {groups.map(([group, keys]) => (
          <section key={group} aria-label={group}>
            <p className="group" aria-hidden="true">
              {group}
            </p>
            <ul>
              {keys.map((key) => (
                <li key={key}>
                  <button type="button" aria-current={section === key} onClick={() => choose(key)}>
                    {words(key)}
                    {wrong(key) && <span className="trouble"> to put right</span>}
                  </button>
                </li>
              ))}
            </ul>
          </section>
        ))}
        {/* on a phone two dozen buttons would stand over every field */}
        <label className="field">
          <span>Part of the job</span>
          <select value={section} onChange={(event) => choose(event.target.value)}>
            {groups.map(([group, keys]) => (
              <optgroup key={group} label={group}>
                {keys.map((key) => (
                  <option key={key} value={key}>
                    {capital(words(key)) + (wrong(key) ? ", to put right" : "")}
                  </option>
                ))}
              </optgroup>
            ))}
          </select>
        </label>
      </nav>
      <div className="parts">
        {chosen && (
          <>
            <p>{capital(chosen.description ?? "")}.</p>
            <Section
              key={section}
              path={section}
              leaf={chosen}
              schema={schema}
              work={work}
              problems={problems}
            />
          </>
        )}
      </div>
    </div>
  );
}

type Props = { path: string; leaf: Schema; schema: Schema; work: Work; problems: Problem[] };

/** A table, a table of labelled parts, or a list of entries. */
function Section({ path, leaf, schema, work, problems }: Props) {
  const table = inner(leaf, schema);
  if (!table) return null;
  if (table.properties) {
    return (
      <section className="part" aria-label={words(path)}>
        <Fields path={path} leaf={table} schema={schema} work={work} problems={problems} />
      </section>
    );
  }
  return (
    <Labelled
      path={path}
      leaf={table.additionalProperties as Schema}
      schema={schema}
      work={work}
      problems={problems}
    />
  );
}

function Labelled({ path, leaf, schema, work, problems }: Props) {
  const [label, setLabel] = useState("");
  const entry = resolve(leaf, schema);
  const there = at(work.state.values, path);
  const given = isTable(there) ? Object.keys(there) : [];
  const designed = designedOf(work, path);
  const labels = [...new Set([...given, ...Object.keys(designed).map((key) => key.split(".")[0] ?? "")])];
  const free = label.trim() !== "" && !labels.includes(label.trim());
  return (
    <>
      {labels.map((one) => (
        <section key={one} className="part" aria-label={`${words(path)} ${one}`}>
          <div className="line">
            <h3>{one}</h3>
            {Object.keys(designed).some((key) => key.startsWith(`${one}.`)) && (
              <button
                type="button"
                className="quiet"
                onClick={() => {
                  for (const [key, value] of Object.entries(designed))
                    if (key.startsWith(`${one}.`)) work.edit(join(path, key), value);
                }}
              >
                Keep all that was designed of {one}
              </button>
            )}
            {given.includes(one) && (
              <button type="button" className="quiet" onClick={() => work.edit(join(path, one), null)}>
                Take {one} out
              </button>
            )}
          </div>
          <Fields path={join(path, one)} leaf={entry} schema={schema} work={work} problems={problems} />
        </section>
      ))}
      <form
        className="line"
        onSubmit={(event) => {
          event.preventDefault();
          if (!free) return;
          work.edit(join(path, label.trim()), {});
          setLabel("");
        }}
      >
        <label className="field">
          <span>Label of a new one, as the crew will call it</span>
          <input value={label} maxLength={20} onChange={(event) => setLabel(event.target.value)} />
        </label>
        <button type="submit" disabled={!free}>
          Add
        </button>
      </form>
    </>
  );
}

/** What was designed under a key path and is not given, by the rest of its path. */
function designedOf(work: Work, path: string): Record<string, Leaf> {
  const all = Object.entries(work.state.answered?.designed_values ?? {});
  return Object.fromEntries(
    all
      .filter(([key]) => key.startsWith(`${path}.`))
      .map(([key, value]) => [key.slice(path.length + 1), value]),
  );
}

function Fields({ path, leaf, schema, work, problems }: Props) {
  const [all, setAll] = useState(false);
  const values = at(work.state.values, path);
  const keys = Object.entries(leaf.properties ?? {});
  const designed = designedOf(work, path);
  const used = keys.filter(
    ([key]) =>
      (isTable(values) && key in values) ||
      key in designed ||
      problems.some((p) => p.path === join(path, key)),
  );
  const shown = all || used.length === 0 ? keys : used;
  return (
    <>
      <div className="fields">
        {shown.map(([key, field]) => {
          const own = join(path, key);
          return (
            <Field
              key={key}
              path={own}
              name={key}
              leaf={field}
              schema={schema}
              work={work}
              problems={problems}
            />
          );
        })}
      </div>
      {shown.length < keys.length && (
        <button type="button" className="quiet" onClick={() => setAll(true)}>
          {keys.length - shown.length} more that can be given
        </button>
      )}
    </>
  );
}

function Field({ path, name, leaf, schema, work, problems }: Props & { name: string }) {
  const id = useId();
  const value = at(work.state.values, path);
  const kind = kindOf(leaf, schema);
  const wrong = problems.filter(
    (problem) =>
      problem.path === path || problem.path.startsWith(`${path}[`) || problem.path.startsWith(`${path}.`),
  );
  const designed = value === undefined ? work.state.answered?.designed_values?.[path] : undefined;
  const state = wrong.length
    ? "wrong"
    : value !== undefined
      ? "given"
      : designed !== undefined
        ? "designed"
        : "empty";
  const described = `${id}-how`;
  const common = { id, "aria-describedby": described, "aria-invalid": wrong.length > 0 } as const;
  return (
    <div className={`${state}${kind.form === "text area" ? " wide" : ""}`}>
      <label className="field" htmlFor={id}>
        <span>{words(name)}</span>
        {kind.form === "choice" ? (
          <select
            {...common}
            value={value === undefined ? "" : JSON.stringify(value)}
            onChange={(event) =>
              work.edit(path, event.target.value === "" ? null : (JSON.parse(event.target.value) as Leaf))
            }
          >
            <option value="">left out</option>
            {kind.choices.map((choice) => (
              <option key={JSON.stringify(choice)} value={JSON.stringify(choice)}>
                {choice === true ? "yes" : choice === false ? "no" : String(choice)}
              </option>
            ))}
          </select>
        ) : kind.form === "text area" ? (
          <Raw common={common} value={value} onValue={(next) => work.edit(path, next)} />
        ) : (
          <input
            {...common}
            value={
              value === undefined || value === null
                ? ""
                : typeof value === "object"
                  ? JSON.stringify(value)
                  : String(value)
            }
            placeholder={kind.example}
            inputMode={kind.form === "number" ? "decimal" : "text"}
            onChange={(event) => work.edit(path, typed(event.target.value, kind.form))}
          />
        )}
      </label>
      {designed !== undefined && (
        <p className="by">
          <Dot kind="designed" /> {written(designed)}, designed
          <button type="button" className="quiet" onClick={() => work.edit(path, designed)}>
            Keep it
          </button>
        </p>
      )}
      {wrong.map((problem) => (
        <p key={problem.path + problem.code} className="why" role="alert">
          {problem.message}
        </p>
      ))}
      <p className="how" id={described}>
        {capital(leaf.description ?? "")}
      </p>
    </div>
  );
}

type Common = { id: string; "aria-describedby": string; "aria-invalid": boolean };

/** Points and lists: typed as they stand in the file; what cannot be read stays on screen and is not sent. */
function Raw({
  common,
  value,
  onValue,
}: {
  common: Common;
  value: Leaf | undefined;
  onValue: (value: Leaf) => void;
}) {
  const [text, setText] = useState<string | null>(null);
  const [bad, setBad] = useState(false);
  const shown = text ?? (value === undefined ? "" : listed(value));
  return (
    <>
      <textarea
        {...common}
        value={shown}
        rows={Math.min(16, Math.max(2, shown.split("\n").length))}
        aria-invalid={bad || common["aria-invalid"]}
        onChange={(event) => {
          setText(event.target.value);
          const read = parsed(event.target.value);
          setBad(read === undefined);
          if (read !== undefined) onValue(read);
        }}
        onBlur={() => !bad && setText(null)}
      />
      {bad && (
        <span className="why">
          Not sent yet: a list stands in square brackets, texts in quotes, such as [["4 ft", "12 ft"]].
        </span>
      )}
    </>
  );
}

function parsed(text: string): Leaf | undefined {
  if (text.trim() === "") return null;
  try {
    return JSON.parse(text) as Leaf;
  } catch {
    return undefined;
  }
}

function listed(value: Leaf): string {
  if (!Array.isArray(value)) return JSON.stringify(value);
  const lines = value.map((item) => JSON.stringify(item));
  const flat = `[${lines.join(", ")}]`;
  return flat.length < 90 ? flat : `[\n  ${lines.join(",\n  ")}\n]`;
}

function typed(text: string, form: Form): Leaf {
  const trimmed = text.trim();
  if (trimmed === "") return null;
  if (form === "number" && /^[-+]?\d+(\.\d+)?$/.test(trimmed)) return Number(trimmed);
  return text;
}

type Form = "text" | "number" | "quantity" | "choice" | "text area";

function kindOf(leaf: Schema, schema: Schema): { form: Form; choices: Leaf[]; example: string } {
  const options = (leaf.anyOf ?? [leaf])
    .map((one) => resolve(one, schema))
    .filter((one) => one.type !== "null");
  const choices = options.flatMap(
    (one) =>
      one.enum ?? (one.type === "boolean" ? [true, false] : one.const !== undefined ? [one.const] : []),
  );
  const first = options[0] ?? {};
  if (
    choices.length &&
    options.every((one) => one.enum || one.type === "boolean" || one.const !== undefined)
  ) {
    return { form: "choice", choices, example: "" };
  }
  const types = options.flatMap((one) => one.type ?? []);
  if (types.includes("array") || types.includes("object") || options.some((one) => one.properties)) {
    return { form: "text area", choices: [], example: "" };
  }
  const numeric = types.every((type) => type === "number" || type === "integer");
  return {
    form: numeric ? "number" : first.examples ? "quantity" : "text",
    choices: [],
    example: first.examples?.[0] ?? "",
  };
}

function resolve(leaf: Schema, schema: Schema): Schema {
  const name = leaf.$ref?.split("/").pop();
  return name ? (schema.$defs?.[name] ?? leaf) : leaf;
}

/** The table that a leaf of the document holds, or null where it holds a plain value. */
function inner(leaf: Schema, schema: Schema): Schema | null {
  const found = resolve(leaf, schema);
  if (found.properties) return found;
  if (found.type === "object" && typeof found.additionalProperties === "object") return found;
  return null;
}

function words(key: string): string {
  const text = key.replaceAll("_", " ").replaceAll(".", " ");
  return text === "job" ? "the job" : text;
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1).replace(/\.$/, "");
}

export type { Table };
