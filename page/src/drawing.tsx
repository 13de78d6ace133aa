import { useEffect, useRef } from "react";
import type { View, Water } from "./api";

const SVG = "http://www.w3.org/2000/svg";

/** What lines and fills mean, as a picture that nobody needs to hear. */
export function pictured(svg: string): Node {
  const key = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  key.setAttribute("aria-hidden", "true");
  return document.importNode(key, true);
}

/** A drawing of the service. Its text was escaped there; no script runs in it (the page's policy forbids that too). */
export function Drawn({
  view,
  touched,
  onTouch,
  water = null,
  bare = false,
}: {
  view: View;
  touched: string;
  onTouch: (part: string) => void;
  /** Where water stands at the chosen moment, drawn over the section in its own meters. */
  water?: Water | null;
  /** Without key and words under it: they stand elsewhere. */
  bare?: boolean;
}) {
  const frame = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const holder = frame.current;
    if (!holder) return;
    const parsed = new DOMParser().parseFromString(view.svg, "image/svg+xml").documentElement;
    parsed.setAttribute("role", "img");
    parsed.setAttribute("aria-label", view.says);
    holder.replaceChildren(document.importNode(parsed, true));
    if (view.key !== "" && !bare) holder.append(pictured(view.key));
  }, [view.svg, view.says, view.key, bare]);
  useEffect(() => {
    // too wide for a phone: a plan begins at its middle, a section where the water ends, that of the full well at the house
    const holder = frame.current;
    if (!holder) return;
    const beyond = holder.scrollWidth - holder.clientWidth;
    holder.scrollLeft = { plan: beyond / 2, "full-well": 0 }[view.name] ?? beyond;
  }, [view.name]);
  useEffect(() => {
    for (const item of frame.current?.querySelectorAll("[data-part]") ?? []) {
      item.classList.toggle("touched", touched !== "" && item.getAttribute("data-part") === touched);
    }
  }, [touched, view.svg]);
  useEffect(() => {
    const svg = frame.current?.querySelector("svg");
    if (!svg || !water) return;
    const layer = document.createElementNS(SVG, "g");
    layer.setAttribute("class", "moment");
    layer.setAttribute("aria-hidden", "true");
    layer.setAttribute(
      "transform",
      `translate(${view.left} ${view.top}) scale(${view.along} ${-view.up}) translate(${-view.x0} ${-view.y1})`,
    );
    for (const [name, data] of [
      ["body", water.body],
      ["surface", water.surface],
    ] as const) {
      const line = document.createElementNS(SVG, "path");
      line.setAttribute("class", name);
      line.setAttribute("d", data);
      line.setAttribute("vector-effect", "non-scaling-stroke");
      layer.append(line);
    }
    svg.append(layer);
    return () => layer.remove();
  }, [view, water]);
  // On a phone the drawing is wider than the screen: it can be moved with the arrow keys too.
  return (
    <figure className="drawing">
      {/* biome-ignore lint/a11y/noStaticElementInteractions: the same parts are reached by keyboard in the list below */}
      {/* biome-ignore lint/a11y/useKeyWithClickEvents: as above */}
      <div
        ref={frame}
        className="frame"
        // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls can be reached by keyboard
        tabIndex={0}
        onClick={(event) => {
          // a part may lie under lines that belong to none: stone, water, lettering
          const under = document.elementsFromPoint(event.clientX, event.clientY);
          const part = under.map((one) => one.closest(".frame [data-part]")).find((one) => one !== null);
          onTouch(part?.getAttribute("data-part") ?? "");
        }}
      />
      {!bare && (
        <figcaption>
          {[view.title, ...view.notes].map((words) => words.replace(/\.$/, "")).join(". ")}.
        </figcaption>
      )}
    </figure>
  );
}
