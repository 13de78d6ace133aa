// Every save: what changed, taken up again.
import { useEffect, useState, useSyncExternalStore } from "react";
import { api, type Difference, type VersionSummary } from "./api";
import type { Work } from "./work";

export function Versions({ work, who }: { work: Work; who: string }) {
  const state = useSyncExternalStore(work.listen, () => work.state);
  const id = state.opened.summary.id;
  const head = state.opened.version.number;
  const [versions, setVersions] = useState<VersionSummary[]>([]);
  const [compared, setCompared] = useState<{ number: number; changes: Difference[] } | null>(null);
  const [trouble, setTrouble] = useState("");
  useEffect(() => {
    if (head > 0) api.versions(id).then(setVersions, (error: Error) => setTrouble(error.message));
  }, [id, head]);
  return (
    <main className="jobs">
      <h2>Every save stays</h2>
      {trouble && (
        <p className="trouble" role="alert">
          {trouble}
        </p>
      )}
      <ul className="joblist">
        {versions.map((version) => (
          <li key={version.number}>
            <div>
              <h3>Version {version.number}</h3>
              <p className="small">
                {[version.who, new Date(version.saved).toLocaleString(), version.note]
                  .filter(Boolean)
                  .join(", ")}
              </p>
              {compared?.number === version.number && (
                <ul>
                  {compared.changes.map((one) => (
                    <li key={one.path}>
                      {one.path}: {one.older ?? "left out"} became {one.newer ?? "left out"}
                    </li>
                  ))}
                </ul>
              )}
            </div>
            <div className="presses">
              {version.number > 1 && (
                <button
                  type="button"
                  onClick={() =>
                    api.compare(id, version.number - 1, version.number).then(
                      (changes) => setCompared({ number: version.number, changes }),
                      (error: Error) => setTrouble(error.message),
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
          </li>
        ))}
      </ul>
    </main>
  );
}
