// A paper: made with its progress told, stopped where nobody wants to wait, then opened.
import { useEffect, useRef, useState } from "react";
import type { PaperSummary } from "./api";
import { stream } from "./stream";

export function PaperLink({ job, paper, number }: { job: string; paper: PaperSummary; number: number }) {
  const [words, setWords] = useState("");
  const [made, setMade] = useState("");
  const [trouble, setTrouble] = useState("");
  const making = useRef<AbortController | null>(null);
  // a newer version has a paper of its own
  useEffect(() => {
    setMade("");
    setTrouble("");
    return () => {
      making.current?.abort();
      setWords("");
    };
  }, [number]);
  const make = () => {
    const running = new AbortController();
    making.current = running;
    setTrouble("");
    setWords("beginning");
    const end = (said: string) => {
      if (making.current !== running) return;
      making.current = null;
      setWords("");
      setTrouble(said);
    };
    stream(
      `api/jobs/${job}/papers/${paper.name}/make?number=${number}`,
      undefined,
      running.signal,
      (name, data) => {
        if (running.signal.aborted) return;
        if (name === "progress") setWords(String(data.words));
        else if (name === "failed") end(String(data.message));
        else if (name === "made") {
          setMade(String(data.url));
          window.open(String(data.url), "_blank", "noreferrer"); // where the browser forbids it the link stands there
        } else if (name === "done") end("");
      },
    ).catch((error: Error) => end(running.signal.aborted ? "" : error.message));
  };
  return (
    <li>
      {words ? (
        <span aria-live="polite">
          {paper.file}: {words}{" "}
          <button type="button" className="quiet" onClick={() => making.current?.abort()}>
            Stop
          </button>
        </span>
      ) : made ? (
        <a href={made} target="_blank" rel="noreferrer">
          {paper.file}
        </a>
      ) : (
        <button type="button" className="quiet" onClick={make}>
          Make {paper.file}
        </button>
      )}
      <span className="small">{paper.what}</span>
      {trouble && <span className="small trouble">{trouble}</span>}
    </li>
  );
}
