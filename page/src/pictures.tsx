// What rain does to the wells, as the papers draw it: the storm, running empty, the mound.
import { useEffect, useState } from "react";
import { api, type Pictured } from "./api";
import { Drawn } from "./drawing";
import type { Work } from "./work";

export function Pictures({ work, fingerprint }: { work: Work; fingerprint: string }) {
  const [open, setOpen] = useState(false);
  const [found, setFound] = useState<Pictured[]>([]);
  const [trouble, setTrouble] = useState("");
  useEffect(() => {
    if (!open || fingerprint === "") return;
    const asking = new AbortController();
    api.pictures(work.state.opened.summary.id, work.question(), asking.signal).then(
      (pictures) => {
        setFound(pictures);
        setTrouble("");
      },
      (error: Error) => !asking.signal.aborted && setTrouble(error.message),
    );
    return () => asking.abort();
  }, [work, open, fingerprint]);
  return (
    <details className="under" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>Pictures: the storm, running empty, the groundwater</summary>
      {trouble && <p className="trouble">{trouble}</p>}
      {open && found.length === 0 && !trouble && <p>Being drawn.</p>}
      {found.map((one) =>
        one.view ? (
          <Drawn key={one.title} view={one.view} touched="" onTouch={() => undefined} />
        ) : (
          <p key={one.title}>{[one.title, ...one.notes].join(". ")}.</p>
        ),
      )}
    </details>
  );
}
