import { tipToImage, type Pose } from '../../shared/geometry.ts';
import type { MarkPoint } from '../../shared/index.ts';
import { parseNumber } from '../format.ts';

/** The line that a skew is told against: two places in picture pixels, or degrees anticlockwise from level. */
export type GivenLine = { from: [number, number]; to: [number, number] } | { angleDeg: number };

/** "12.5", or "x1 y1 x2 y2" in picture pixels; null for anything else. */
export function parseLine(text: string): GivenLine | null {
  const numbers = text
    .trim()
    .split(/[;\s]+/)
    .map(parseNumber);
  if (!numbers.every((n) => n !== null)) return null;
  const [a, b, c, d] = numbers;
  if (numbers.length === 1) return Math.abs(a) <= 360 ? { angleDeg: a } : null;
  if (numbers.length !== 4 || Math.hypot(c - a, d - b) < 2) return null;
  return { from: [a, b], to: [c, d] };
}

/** Two points of the stage as the line that they make in the picture, px; null when they lie too close. */
export function lineOfPoints(points: readonly MarkPoint[], pose: Pose): GivenLine | null {
  if (points.length !== 2) return null;
  const [from, to] = points.map(([x, y]): [number, number] => {
    const at = tipToImage(pose, { x, y });
    return [Math.round(10 * at.x) / 10, Math.round(10 * at.y) / 10];
  });
  return Math.hypot(to[0] - from[0], to[1] - from[1]) < 2 ? null : { from, to };
}

export const lineText = (line: GivenLine): string =>
  'angleDeg' in line ? `${line.angleDeg}` : [...line.from, ...line.to].join(' ');
