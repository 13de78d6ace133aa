// Words of the document put as a person says them.

/** How to measure, the keys of the document in the words of the page: after a colon and in brackets they are left out,
 * and what is to be written stands under Measure. */
export function plainly(how: string): string {
  const named = (table: string, leaf: string) =>
    `give it under Measure, ${table}, ${leaf.replaceAll("_", " ")}`;
  return how
    .replace(/: [a-z]+(?:\.[A-Za-z_]+)+(?:, [a-z]+_[a-z_]+)*$/, "")
    .replace(/ \((?=[a-z]+\.[a-z_]+)[^)]*\)/g, "")
    .replace(/\bwrite ([a-z]+)\.(?:ID\.)?([a-z_]+)/g, (_, table, leaf) => named(table, leaf))
    .replace(/ or [a-z]+\.(?:ID\.)?([a-z_]+)/g, (_, leaf) => ` or ${leaf.replaceAll("_", " ")}`);
}

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** A place in the document: "survey.readings[10].rod" is "survey, readings 11, rod". */
export function placed(path: string): string {
  return path
    .replace(/\[(\d+)\]/g, (_, place) => ` ${Number(place) + 1}`)
    .replaceAll("_", " ")
    .replaceAll(".", ", ");
}

/** What holds papers back, each question once: "5 Does it hold and soak away? seasonal high water". */
export function grouped(waits: string[]): [string, string[]][] {
  const found = new Map<string, Set<string>>();
  for (const one of waits) {
    const end = one.lastIndexOf("? ") + 1;
    const question = end > 0 ? one.slice(0, end) : "";
    const items = found.get(question) ?? new Set<string>();
    const said = one.slice(end).trim();
    // what fails is a sentence and stays whole; what is missing is a list
    const parts = said.endsWith(".") ? [said.slice(0, -1)] : said.split(",").map((item) => item.trim());
    for (const item of parts) if (item) items.add(item);
    found.set(question, items);
  }
  return [...found].map(([question, items]) => [question, [...items]]);
}

/** Day and time to the minute, as the browser's own language writes them. */
export function moment(iso: string): string {
  return new Date(iso).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}
