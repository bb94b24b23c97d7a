/**
 * Decision threshold and detection limit (Currie, Anal. Chem. 40 (1968) 586; ISO 11843; recalled, not read).
 * With k = 3.3 about one unworn wall in a thousand is called worn when the depth is tested to both sides, half of that
 * when only recession counts.
 */
export const DECISION_FACTOR = 3.3;
/** One-sided 95 %: a wear at the limit is missed at most once in twenty. */
export const MISS_FACTOR = 1.645;

/** Smallest depth that is called detected; `u0` is the depth's standard uncertainty when nothing is worn. */
export function decisionThreshold(u0: number): number {
  return DECISION_FACTOR * u0;
}

/**
 * Smallest true depth that is missed at most once in twenty: d = threshold + 1.645 u(d), by iteration. `uAt` is the
 * standard uncertainty at a depth; it may grow with the depth. Infinity when no such depth exists below `most`.
 */
export function detectionLimit(threshold: number, uAt: (depth: number) => number, most = Infinity): number {
  let depth = threshold;
  for (let i = 0; i < 200; i++) {
    const next = threshold + MISS_FACTOR * uAt(depth);
    if (!(next <= most)) return Infinity;
    if (Math.abs(next - depth) <= 1e-9 * next) return next;
    depth = next;
  }
  return Infinity;
}
