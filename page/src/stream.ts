// What the service tells while it works: events in the form of the HTML standard, asked for by POST.
import { ask } from "./api";

/** Ask, and hand on each event as it comes. Ends when the service ends or `signal` stops it, which stops the work too. */
export async function stream(
  url: string,
  body: unknown,
  signal: AbortSignal,
  onEvent: (name: string, data: Record<string, unknown>) => void,
): Promise<void> {
  const response = await ask("POST", url, body, signal);
  const reader = response.body?.pipeThrough(new TextDecoderStream()).getReader();
  if (!reader) return;
  let kept = "";
  for (;;) {
    const { value, done } = await reader.read();
    if (done) return;
    const { events, rest } = read(kept + value);
    kept = rest;
    for (const event of events) onEvent(event.name, event.data);
  }
}

export interface Event {
  name: string;
  data: Record<string, unknown>;
}

/** Cut a text into whole events and what is not whole yet. Comments, which keep the line open, are passed over. */
export function read(text: string): { events: Event[]; rest: string } {
  const blocks = text.split("\n\n");
  const rest = blocks.pop() ?? "";
  const events: Event[] = [];
  for (const block of blocks) {
    let name = "message";
    let data = "";
    for (const line of block.split("\n")) {
      if (line.startsWith("event: ")) name = line.slice(7);
      else if (line.startsWith("data: ")) data += line.slice(6);
    }
    if (data) events.push({ name, data: JSON.parse(data) as Record<string, unknown> });
  }
  return { events, rest };
}
