import { useEffect, useRef } from "react";
import type { View } from "./api";

/** A drawing of the service. Its text was escaped there; no script runs in it (the page's policy forbids that too). */
export function Drawn({
  view,
  touched,
  onTouch,
}: {
  view: View;
  touched: string;
  onTouch: (part: string) => void;
}) {
  const frame = useRef<HTMLDivElement>(null);
  useEffect(() => {
    const holder = frame.current;
    if (!holder) return;
    const parsed = new DOMParser().parseFromString(view.svg, "image/svg+xml").documentElement;
    parsed.setAttribute("role", "img");
    parsed.setAttribute("aria-label", view.says);
    holder.replaceChildren(document.importNode(parsed, true));
    if (view.key !== "") {
      const key = new DOMParser().parseFromString(view.key, "image/svg+xml").documentElement;
      key.setAttribute("aria-hidden", "true");
      holder.append(document.importNode(key, true));
    }
  }, [view.svg, view.says, view.key]);
  useEffect(() => {
    for (const item of frame.current?.querySelectorAll("[data-part]") ?? []) {
      item.classList.toggle("touched", touched !== "" && item.getAttribute("data-part") === touched);
    }
  }, [touched, view.svg]);
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
          const part = (event.target as Element).closest("[data-part]")?.getAttribute("data-part");
          onTouch(part ?? "");
        }}
      />
      <figcaption>
        {[view.title, ...view.notes].map((words) => words.replace(/\.$/, "")).join(". ")}.
      </figcaption>
    </figure>
  );
}
