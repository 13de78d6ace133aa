// A chart in its frame: its library comes when it is wanted, it keeps the frame's width and follows a change of look.
import type Plot from "uplot";

/** Draw a chart, and anew when its look changes; returns what takes it away. `draw` is given the library and the width. */
export function charted(
  frame: HTMLElement,
  height: number,
  draw: (library: typeof Plot, width: number) => Plot,
): () => void {
  let gone = false;
  let away: () => void = () => undefined;
  const width = () => Math.max(240, frame.clientWidth);
  void Promise.all([import("uplot"), import("uplot/dist/uPlot.min.css")]).then(([{ default: library }]) => {
    if (gone) return;
    let plot = draw(library, width());
    const anew = () => {
      plot.destroy();
      plot = draw(library, width());
    };
    const size = new ResizeObserver(() => plot.setSize({ width: width(), height }));
    size.observe(frame);
    const look = new MutationObserver(anew); // a chart does not follow a change of look by itself
    look.observe(document.documentElement, { attributes: true });
    away = () => {
      size.disconnect();
      look.disconnect();
      plot.destroy();
    };
  });
  return () => {
    gone = true;
    away();
  };
}
