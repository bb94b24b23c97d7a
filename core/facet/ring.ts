import { leastSquares } from '../fit/linear-algebra.ts';
import type { Window } from './window.ts';

/** x, y, radius, width, all in um. */
const P = 4;
/** Light of the ring and its unevenness round about (once and twice a turn), ground, two slopes, bowl. */
const LINEAR = 9;
const LOW = [-Infinity, -Infinity, 2, 0.6];
const HIGH = [Infinity, Infinity, 20, 6];
const DELTA = 0.02;

function columns(w: Window, p: Float64Array): Float64Array {
  const out = new Float64Array(w.x.length * LINEAR);
  for (let i = 0; i < w.x.length; i++) {
    const dx = w.x[i] - p[0];
    const dy = w.y[i] - p[1];
    const r = Math.hypot(dx, dy);
    const [c, s] = r < 1e-6 ? [1, 0] : [dx / r, dy / r];
    const ring = Math.exp(-0.5 * ((r - p[2]) / p[3]) ** 2);
    out.set(
      [
        ring,
        ring * c,
        ring * s,
        ring * (c * c - s * s),
        ring * 2 * c * s,
        1,
        dx / 10,
        dy / 10,
        (r * r) / 400,
      ],
      i * LINEAR,
    );
  }
  return out;
}

function residualsOf(w: Window, p: Float64Array) {
  const n = w.x.length;
  const design = columns(w, p);
  const rows = new Float64Array((n + LINEAR) * LINEAR);
  rows.set(design);
  for (let k = 0; k < LINEAR; k++) rows[(n + k) * LINEAR + k] = 1e-3;
  const rhs = new Float64Array(n + LINEAR);
  rhs.set(w.grey);
  const solved = leastSquares(rows, rhs, n + LINEAR, LINEAR);
  if (solved === null) return null;
  const residuals = solved.residuals.slice(0, n);
  return { residuals, light: solved.solution, cost: residuals.reduce((sum, r) => sum + r * r, 0) };
}

/**
 * Root-mean-square grey value that a lamp's mirrored ring alone leaves unexplained in a window, its light falling and
 * rising smoothly round about. For telling two halves of a ring from two patches. Infinity when nothing was found.
 */
export function ringResidual(w: Window, radiusUm: number): number {
  let p = Float64Array.from([0, 0, radiusUm, 2]);
  let now = residualsOf(w, p);
  const n = w.x.length;
  let damping = 1e-2;
  for (let round = 0; round < 25 && now !== null; round++) {
    const jac = new Float64Array((n + P) * P);
    const size = new Float64Array(P);
    for (let j = 0; j < P; j++) {
      const moved = p.slice();
      moved[j] += DELTA;
      const there = residualsOf(w, moved);
      if (there === null) return Infinity;
      for (let i = 0; i < n; i++) {
        jac[i * P + j] = (now.residuals[i] - there.residuals[i]) / DELTA;
        size[j] += jac[i * P + j] ** 2;
      }
    }
    for (let j = 0; j < P; j++) jac[(n + j) * P + j] = Math.sqrt(damping * size[j]) + 1e-9;
    const rhs = new Float64Array(n + P);
    rhs.set(now.residuals);
    const step = leastSquares(jac, rhs, n + P, P);
    if (step === null) break;
    const next = p.map((v, j) => Math.max(LOW[j], Math.min(HIGH[j], v + step.solution[j])));
    const there = residualsOf(w, next);
    if (there !== null && there.cost < now.cost) {
      const gain = 1 - there.cost / now.cost;
      p = next;
      now = there;
      damping = Math.max(1e-6, damping / 10);
      if (gain < 1e-4) break;
    } else if ((damping *= 10) > 1e5) break;
  }
  return now === null ? Infinity : Math.sqrt(now.cost / n);
}
