import type { Verdict } from "./api";

/** A level vial: where the bubble stands says how much is to spare; always with its word beside it. */
export function Vial({ verdict, margin }: { verdict: Verdict; margin: number }) {
  const unknown = verdict === "unknown";
  const shift =
    verdict === "fails"
      ? 18.6
      : verdict === "close"
        ? 6.6 + 3 * (1 - clamp(margin * 10))
        : 3 * (1 - clamp(margin * 2));
  return (
    <svg className="vial" viewBox="0 0 56 18" aria-hidden="true">
      <path
        d="M1 4.5 Q28 0.5 55 4.5 V13.5 Q28 17.5 1 13.5 Z"
        fill={
          verdict === "fails"
            ? "var(--fails)"
            : verdict === "close"
              ? "var(--tightsoft)"
              : unknown
                ? "none"
                : "var(--band)"
        }
        stroke={verdict === "fails" ? "var(--fails)" : verdict === "close" ? "var(--tight)" : "var(--ink)"}
        strokeDasharray={unknown ? "3 2.4" : undefined}
        strokeWidth="1.2"
      />
      {unknown ? (
        verdict === "unknown" && (
          <text x="28" y="13" textAnchor="middle" fontSize="12" fontWeight="680" fill="var(--ink)">
            ?
          </text>
        )
      ) : (
        <>
          <path
            d="M18 0.5V17.5M38 0.5V17.5"
            stroke={verdict === "fails" ? "var(--sheet)" : "var(--ink)"}
            strokeWidth="1.2"
          />
          <ellipse
            cx={28 + shift}
            cy="9"
            rx="6.3"
            ry="3.1"
            fill={verdict === "fails" ? "var(--sheet)" : "none"}
            stroke={verdict === "close" ? "var(--tight)" : "var(--ink)"}
            strokeWidth="1.4"
          />
        </>
      )}
    </svg>
  );
}

function clamp(share: number): number {
  return Number.isFinite(share) ? Math.min(Math.max(share, 0), 1) : 0;
}
