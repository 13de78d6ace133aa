// The figures along a long section, as a table that can be read out and copied.
import { useEffect, useRef } from "react";
import type { View } from "./api";
import { pictured } from "./drawing";

export function Under({ view }: { view: View }) {
  const figures = view.figures;
  const key = useRef<HTMLDivElement>(null);
  useEffect(() => key.current?.replaceChildren(...(view.key ? [pictured(view.key)] : [])), [view.key]);
  return (
    <details className="under">
      <summary>
        What the lines mean, and the figures {view.title.charAt(0).toLowerCase() + view.title.slice(1)}
      </summary>
      <div ref={key} className="drawing" />
      {figures && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls can be reached by keyboard
        <section className="wide" tabIndex={0} aria-label={`Figures ${view.title}`}>
          <table>
            <tbody>
              {figures.rows.map((name, row) => (
                <tr key={name}>
                  <th scope="row">{name}</th>
                  {figures.columns.map((column, n) => (
                    <td key={n} className={column.strong ? "strong" : ""}>
                      {column.cells[row]}
                    </td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </section>
      )}
      {view.notes.map((note) => (
        <p key={note} className="small">
          {note}
        </p>
      ))}
    </details>
  );
}
