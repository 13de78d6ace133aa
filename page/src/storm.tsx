// The storm that asks most, moment by moment: a slider, what the moment is like in words, and the chart it is chosen in.

import { useEffect, useRef, useState } from "react";
import { api, type StormShown } from "./api";
import { charted } from "./chart";
import type { Work } from "./work";

export type Storm = NonNullable<StormShown["storm"]>;

const CALM_MS = 400; // a second question waits until the edits pause: the answers come first
const STEP_MS = 160;

/** The storm of what is on the page now; asked for anew when the answers change. */
export function useStorm(work: Work, fingerprint: string): Storm | null {
  const { whole } = work.frames; // the water in a gutter stands where the section shows it
  const [storm, setStorm] = useState<Storm | null>(null);
  useEffect(() => {
    if (fingerprint === "") return;
    const asking = new AbortController();
    const timer = setTimeout(() => {
      api.storm(work.state.opened.summary.id, work.question(), asking.signal).then(
        (found) => setStorm(found.storm),
        () => undefined, // the next answer asks again; without signal the storm of before stays
      );
    }, CALM_MS);
    return () => {
      clearTimeout(timer);
      asking.abort();
    };
  }, [work, fingerprint, whole]);
  return storm;
}

/** The slider through the storm, and what the moment is like in words. */
export function Moments({ storm, moment, onMoment, gutter }: Chosen & { gutter: string }) {
  const [raining, setRaining] = useState(false);
  const last = storm.instants.length - 1;
  const go = useRef(onMoment);
  go.current = onMoment;
  useEffect(() => {
    if (!raining) return;
    if (moment >= last) {
      setRaining(false);
      return;
    }
    const timer = setTimeout(() => go.current(moment + 1), STEP_MS);
    return () => clearTimeout(timer);
  }, [raining, moment, last]);
  const now = storm.instants[moment];
  if (!now) return null;
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  const press = () => {
    if (still) onMoment(moment >= last ? 0 : moment + 1);
    else if (raining) setRaining(false);
    else {
      if (moment >= last) onMoment(0);
      setRaining(true);
    }
  };
  return (
    <div className="storm">
      <button type="button" onClick={press}>
        {still ? "Next moment" : raining ? "Hold it" : "Let it rain"}
      </button>
      <input
        type="range"
        aria-label={`Moment of the storm. ${storm.title}`}
        min={0}
        max={last}
        value={moment}
        aria-valuetext={now.says}
        onChange={(event) => {
          setRaining(false);
          onMoment(Number(event.target.value));
        }}
      />
      {gutter && <p className="gutter">{gutter}.</p>}
      <p className="now">{now.says}</p>
    </div>
  );
}

type Chosen = { storm: Storm; moment: number; onMoment: (moment: number) => void };

/** Rain and depth over the hours; touching it chooses the moment. */
export function Chart({ storm, moment, onMoment }: Chosen) {
  const holder = useRef<HTMLDivElement>(null);
  const pick = useRef(onMoment);
  pick.current = onMoment;
  const stand = useRef<(hours: number) => void>(() => undefined);
  const hours = storm.instants[moment]?.hours ?? 0;
  const at = useRef(hours);
  at.current = hours;
  useEffect(() => {
    const frame = holder.current;
    if (!frame) return;
    const follow = (
      plot: { over: HTMLElement; posToVal: (x: number, scale: string) => number },
      event: PointerEvent,
    ) => {
      const wanted = plot.posToVal(event.clientX - plot.over.getBoundingClientRect().left, "x");
      let best = 0;
      storm.instants.forEach((one, n) => {
        if (Math.abs(one.hours - wanted) < Math.abs((storm.instants[best]?.hours ?? 0) - wanted)) best = n;
      });
      pick.current(best);
    };
    const away = charted(frame, 150, (Plot, width) => {
      const ink = (name: string) => getComputedStyle(frame).getPropertyValue(name).trim();
      const { curve } = storm;
      const axis = {
        stroke: ink("--ink"),
        grid: { show: false },
        ticks: { stroke: ink("--ink"), size: 4 },
      };
      const plot = new Plot(
        {
          width,
          height: 150,
          legend: { show: false },
          cursor: { drag: { x: false, y: false }, points: { show: false } },
          scales: {
            x: { time: false },
            depth: { range: (_u, _low, high) => [0, Math.max(high, curve.full ?? 0) * 1.35 || 1] },
            rain: { range: (_u, _low, high) => [high * 3.2 || 1, 0] },
          },
          axes: [
            { ...axis, values: (_u, ticks) => ticks.map((tick) => `${tick} h`) },
            { ...axis, scale: "depth", size: 46, label: curve.depth_unit, labelSize: 14, labelGap: 0 },
          ],
          series: [
            {},
            { scale: "depth", stroke: ink("--water"), width: 2 },
            { scale: "depth", stroke: ink("--ink"), width: 1, dash: [5, 4] },
            {
              scale: "rain",
              stroke: ink("--ink"),
              width: 1,
              fill: ink("--wetsoft"),
              ...(Plot.paths.stepped ? { paths: Plot.paths.stepped({ align: -1 }) } : {}),
            },
          ],
          hooks: {
            draw: [
              (u) => {
                const x = u.valToPos(at.current, "x", true);
                u.ctx.save();
                u.ctx.strokeStyle = ink("--ink");
                u.ctx.lineWidth = 2 * devicePixelRatio;
                u.ctx.beginPath();
                u.ctx.moveTo(x, u.bbox.top);
                u.ctx.lineTo(x, u.bbox.top + u.bbox.height);
                u.ctx.stroke();
                u.ctx.restore();
              },
            ],
          },
        },
        [[...curve.hours], [...curve.depth], curve.hours.map(() => curve.full), [...curve.rain]],
        frame,
      );
      plot.over.addEventListener("pointerdown", (event) => follow(plot, event));
      plot.over.addEventListener("pointermove", (event) => event.buttons && follow(plot, event));
      stand.current = () => plot.redraw(false);
      return plot;
    });
    return () => {
      away();
      stand.current = () => undefined;
    };
  }, [storm]);
  useEffect(() => stand.current(hours), [hours]);
  const { curve } = storm;
  const says = curve.well
    ? `Depth of water in ${curve.well} in ${curve.depth_unit} over the hours of the storm, its lip as a dashed line; rain in ${curve.rain_unit} hangs from the top.`
    : `Rain in ${curve.rain_unit} over the hours of the storm.`;
  return (
    <figure className="chart">
      <div ref={holder} role="img" aria-label={says} />
      <figcaption className="small">
        {storm.title}. {says} Touch it to choose the moment.
      </figcaption>
    </figure>
  );
}
