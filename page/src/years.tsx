// The spills through the years: a line for each year, a tick for each spill; touch one and it is told. The same as a table.

import { useEffect, useRef, useState } from "react";
import { api, type YearsFound } from "./api";
import { charted } from "./chart";
import type { Work } from "./work";

type Spill = YearsFound["spills"][number];

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const LENGTHS = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
const STARTS = LENGTHS.map((_, n) => LENGTHS.slice(0, n).reduce((sum, days) => sum + days, 0));
const DAYS = 366;
const LEAST_TICK = 0.45; // of a year's line
const MOST_TICK = 0.95;
const FEW = 80; // spills that have room for a broad tick each
const ROW_PX = 8;
const CLOSE_PX = 40; // a finger further from every tick chooses none
const TABLE_AT_ONCE = 200;

export const says = (spill: Spill): string =>
  `${spill.at}: ${spill.rain} of rain in ${spill.rain_time}; ${spill.left} spilled in ${spill.left_time}; water stood in the wells for ${spill.stood}.`;

/** The tick that is nearest to a place on the chart, in pixels; -1 where none is close. */
export function nearest(
  spills: readonly Spill[],
  x: number,
  y: number,
  place: (spill: Spill) => [x: number, y: number],
): number {
  let best = -1;
  let close = CLOSE_PX;
  spills.forEach((spill, n) => {
    const [left, top] = place(spill);
    const away = Math.hypot(left - x, top - y);
    if (away < close) {
      close = away;
      best = n;
    }
  });
  return best;
}

/** The years that are written beside the chart: every fifth or tenth. */
export function years(first: number, last: number): number[] {
  const step = last - first < 12 ? 2 : last - first < 45 ? 5 : 10;
  const out: number[] = [];
  for (let year = Math.ceil(first / step) * step; year <= last; year += step) out.push(year);
  return out;
}

/** Asked for when it comes near the screen: nobody waits for it above. */
export function Years({ work, fingerprint }: { work: Work; fingerprint: string }) {
  const holder = useRef<HTMLElement>(null);
  const [near, setNear] = useState(false);
  const [found, setFound] = useState<YearsFound | null>();
  const [chosen, setChosen] = useState<number | null>(null);
  useEffect(() => {
    const place = holder.current;
    if (!place) return;
    const watch = new IntersectionObserver(([one]) => one?.isIntersecting && setNear(true), {
      rootMargin: "400px",
    });
    watch.observe(place);
    return () => watch.disconnect();
  }, []);
  useEffect(() => {
    if (!near || fingerprint === "") return;
    const asking = new AbortController();
    api.years(work.state.opened.summary.id, work.question(), asking.signal).then(
      (answer) => {
        setFound(answer.years);
        setChosen(null);
      },
      () => undefined, // the next answer asks again; without signal those of before stay
    );
    return () => asking.abort();
  }, [work, near, fingerprint]);
  const spills = found?.spills ?? [];
  const most = spills.findIndex((spill) => spill.share === Math.max(...spills.map((one) => one.share)));
  const at = chosen ?? Math.max(0, most);
  const spill = spills[at];
  return (
    <section ref={holder} className="years" aria-label="The spills through the years">
      {found && (
        <>
          {found.years > 0 && spills.length > 0 && <YearsChart found={found} at={at} onPick={setChosen} />}
          {spill && (
            <div className="picker">
              <button type="button" disabled={at === 0} onClick={() => setChosen(at - 1)}>
                Earlier
              </button>
              <input
                type="range"
                aria-label="Spill of the record"
                min={0}
                max={spills.length - 1}
                value={at}
                aria-valuetext={says(spill)}
                onChange={(event) => setChosen(Number(event.target.value))}
              />
              <button type="button" disabled={at === spills.length - 1} onClick={() => setChosen(at + 1)}>
                Later
              </button>
              <p className="now">{says(spill)}</p>
            </div>
          )}
          <p className="small">
            {[found.title, ...found.notes].map((words) => words.replace(/\.$/, "")).join(". ")}.
          </p>
          {spills.length > 0 && <SpillTable spills={spills} at={at} onPick={setChosen} />}
        </>
      )}
    </section>
  );
}

function YearsChart({ found, at, onPick }: { found: YearsFound; at: number; onPick: (at: number) => void }) {
  const holder = useRef<HTMLDivElement>(null);
  const pick = useRef(onPick);
  pick.current = onPick;
  const chosen = useRef(at);
  chosen.current = at;
  const again = useRef<() => void>(() => undefined);
  useEffect(() => {
    const frame = holder.current;
    if (!frame) return;
    // the section over it stays in sight: what is left of a low screen must hold the chart whole
    const high = Math.min(Math.max(170, innerHeight * 0.3), Math.max(120, found.years * ROW_PX + 34));
    const ink = (name: string) => getComputedStyle(frame).getPropertyValue(name).trim();
    const last = found.first + found.years;
    const away = charted(frame, high, (Plot, width) => {
      const axis = {
        stroke: ink("--ink"),
        grid: { show: false },
        ticks: { stroke: ink("--ink"), size: 4 },
      };
      const plot = new Plot(
        {
          width,
          height: high,
          padding: [4, 8, 0, 0],
          legend: { show: false },
          cursor: { show: false },
          scales: {
            x: { time: false, range: [0, DAYS] },
            // a year's line is the foot of its row; the first year stands on top
            y: { dir: -1, range: [found.first - 1, last - 1] },
          },
          axes: [
            {
              ...axis,
              splits: STARTS.map((start, n) => start + (LENGTHS[n] ?? 30) / 2),
              values: (u, places) =>
                places.map((_, n) => {
                  const name = MONTHS[n] ?? "";
                  return u.width < 520 ? name.slice(0, 1) : name;
                }),
              ticks: { show: false },
              size: 26,
            },
            {
              ...axis,
              size: 46,
              scale: "y",
              splits: years(found.first, last - 1),
              values: (_u, shown) => shown.map((year) => `${year}`),
            },
          ],
          series: [{}, { scale: "y", show: false }],
          hooks: { draw: [(u) => ticks(u)] },
        },
        [
          [0, DAYS],
          [found.first, last - 1],
        ],
        frame,
      );
      const ticks = (u: typeof plot) => {
        const { ctx } = u;
        const wide = devicePixelRatio;
        const row = Math.abs(u.valToPos(found.first, "y", true) - u.valToPos(found.first - 1, "y", true));
        ctx.save();
        ctx.fillStyle = ink("--wetsoft");
        for (const month of found.snow) {
          const left = u.valToPos(STARTS[month] ?? 0, "x", true);
          const right = u.valToPos((STARTS[month] ?? 0) + (LENGTHS[month] ?? 30), "x", true);
          ctx.fillRect(left, u.bbox.top, right - left, u.bbox.height);
        }
        ctx.strokeStyle = ink("--line");
        ctx.lineWidth = 0.5 * wide;
        ctx.beginPath();
        for (let year = found.first; year < last; year += 1) {
          const y = u.valToPos(year, "y", true);
          ctx.moveTo(u.bbox.left, y);
          ctx.lineTo(u.bbox.left + u.bbox.width, y);
        }
        ctx.stroke();
        const tick = (spill: Spill, color: string, thick: number) => {
          const x = u.valToPos(spill.day, "x", true);
          const y = u.valToPos(spill.year, "y", true);
          ctx.strokeStyle = color;
          ctx.lineWidth = thick * wide;
          ctx.beginPath();
          ctx.moveTo(x, y);
          ctx.lineTo(x, y - row * (LEAST_TICK + (MOST_TICK - LEAST_TICK) * spill.share));
          ctx.stroke();
        };
        const thick = found.spills.length <= FEW ? 4 : 2;
        for (const spill of found.spills) tick(spill, ink("--water"), thick);
        const now = found.spills[chosen.current];
        if (now) {
          tick(now, ink("--ink"), thick + 1);
          const x = u.valToPos(now.day, "x", true);
          const y = u.valToPos(now.year, "y", true) - row / 2;
          ctx.lineWidth = 2 * wide;
          ctx.beginPath();
          ctx.arc(x, y, Math.max(8 * wide, row * 0.8), 0, 2 * Math.PI);
          ctx.stroke();
        }
        ctx.restore();
      };
      const touch = (event: PointerEvent) => {
        const box = plot.over.getBoundingClientRect();
        const row = Math.abs(plot.valToPos(found.first, "y") - plot.valToPos(found.first - 1, "y"));
        const best = nearest(
          found.spills,
          event.clientX - box.left,
          event.clientY - box.top,
          (spill): [number, number] => [
            plot.valToPos(spill.day, "x"),
            plot.valToPos(spill.year, "y") - row / 2,
          ],
        );
        if (best >= 0) pick.current(best);
      };
      plot.over.addEventListener("pointerdown", touch);
      plot.over.addEventListener("pointermove", (event) => event.buttons && touch(event));
      again.current = () => plot.redraw(false);
      return plot;
    });
    return () => {
      away();
      again.current = () => undefined;
    };
  }, [found]);
  useEffect(() => again.current(), [at]);
  const snow = found.snow.length > 0 ? " Months that may bring snow are shaded." : "";
  const words = `A line for each year, a tick for each spill, taller for more water.${snow}`;
  return (
    <figure className="chart">
      <div ref={holder} role="img" aria-label={`${found.title}. ${words}`} />
      <figcaption className="small">{words} Touch a tick and it is told.</figcaption>
    </figure>
  );
}

function SpillTable({
  spills,
  at,
  onPick,
}: {
  spills: readonly Spill[];
  at: number;
  onPick: (at: number) => void;
}) {
  const [open, setOpen] = useState(false);
  const [most, setMost] = useState(TABLE_AT_ONCE);
  return (
    <details className="under" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Every spill as a table</summary>
      {open && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls can be reached by keyboard
        <section className="wide" tabIndex={0} aria-label="Every spill">
          <table>
            <thead>
              <tr>
                <th scope="col">began to spill</th>
                <th scope="col">rain</th>
                <th scope="col">in</th>
                <th scope="col">spilled</th>
                <th scope="col">in</th>
                <th scope="col">water stood for</th>
              </tr>
            </thead>
            <tbody>
              {spills.slice(0, most).map((spill, n) => (
                <tr key={spill.at} aria-current={n === at || undefined}>
                  <th scope="row">
                    <button type="button" className="quiet" onClick={() => onPick(n)}>
                      {spill.at}
                    </button>
                  </th>
                  <td>{spill.rain}</td>
                  <td>{spill.rain_time}</td>
                  <td>{spill.left}</td>
                  <td>{spill.left_time}</td>
                  <td>{spill.stood}</td>
                </tr>
              ))}
            </tbody>
          </table>
          {spills.length > most && (
            <button type="button" onClick={() => setMost(most + TABLE_AT_ONCE)}>
              More ({spills.length - most} left)
            </button>
          )}
        </section>
      )}
    </details>
  );
}
