// The mark of where a figure comes from.
export function Dot({ kind }: { kind: "given" | "designed" | "assumed" | "missing" }) {
  return (
    <svg width="12" height="12" viewBox="0 0 12 12" aria-hidden="true">
      <circle
        cx="6"
        cy="6"
        r="4"
        fill={kind === "given" ? "var(--ink)" : "none"}
        stroke="var(--ink)"
        strokeWidth="1.4"
        strokeDasharray={kind === "assumed" || kind === "missing" ? "2 1.6" : undefined}
      />
      {kind === "missing" && (
        <text x="6" y="9" textAnchor="middle" fontSize="8" fill="var(--ink)">
          ?
        </text>
      )}
    </svg>
  );
}
