// Every save: what changed, taken up again.
import { useEffect, useState, useSyncExternalStore } from "react";
import { api, NoAnswer, type VersionSummary } from "./api";
import { SideBySide } from "./sidebyside";
import { moment } from "./words";
import type { Work } from "./work";

export function Versions({ work, who }: { work: Work; who: string }) {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const id = state.opened.summary.id;
  const head = state.opened.version.number;
  const [versions, setVersions] = useState<VersionSummary[]>([]);
  const [compared, setCompared] = useState<{ number: number; older: number } | null>(null);
  const [trouble, setTrouble] = useState("");
  useEffect(() => {
    if (head > 0)
      api.versions(id).then(
        (found) => {
          setVersions(found);
          setTrouble("");
        },
        (error: Error) =>
          setTrouble(
            error instanceof NoAnswer
              ? "No signal: the versions are shown when Roofwell answers again. Nothing is lost."
              : error.message,
          ),
      );
  }, [id, head]);
  return (
    <main className="jobs">
      <h2>Every save stays</h2>
      {trouble && (
        <p className="trouble" role="alert">
          {trouble}
        </p>
      )}
      <ul className="joblist versions">
        {versions.map((version) => (
          <li key={version.number}>
            <div>
              <h3>Version {version.number}</h3>
              <p className="small">
                {[version.who, moment(version.saved), version.note].filter(Boolean).join(", ")}
              </p>
            </div>
            <div className="presses">
              {version.number > 1 && (
                <button
                  type="button"
                  aria-expanded={compared?.number === version.number}
                  onClick={() =>
                    setCompared(
                      compared?.number === version.number
                        ? null
                        : { number: version.number, older: version.number - 1 },
                    )
                  }
                >
                  What changed
                </button>
              )}
              <a href={`api/jobs/${id}/document.toml?number=${version.number}`} download>
                Save as a file
              </a>
              {version.number !== head && state.edits.length === 0 && (
                <button
                  type="button"
                  onClick={() =>
                    api.restore(id, version.number, head, who).then(
                      () => location.reload(),
                      (error: Error) => setTrouble(error.message),
                    )
                  }
                >
                  Take up again
                </button>
              )}
            </div>
            {compared?.number === version.number && (
              <div className="beneath">
                <label className="line small">
                  beside version
                  <select
                    value={compared.older}
                    onChange={(event) =>
                      setCompared({ number: version.number, older: Number(event.target.value) })
                    }
                  >
                    {versions
                      .filter((one) => one.number !== version.number)
                      .map((one) => (
                        <option key={one.number} value={one.number}>
                          {one.number}
                        </option>
                      ))}
                  </select>
                </label>
                <SideBySide job={id} older={compared.older} newer={version.number} />
              </div>
            )}
          </li>
        ))}
      </ul>
    </main>
  );
}
