import type { ComparisonAnswer } from '../../../shared/index.ts';
import type { Window } from '../pictures/overlay.ts';
import { lengthUnit, written } from './format.ts';
import type { Unit } from './format.ts';
import { html } from './html.ts';
import type { Markup } from './html.ts';

/** Drawings in vectors, so that they stay sharp on paper and are told apart without colour. */
type Drawing = NonNullable<ComparisonAnswer['drawing']>;
type Point = readonly [number, number];

/** The tip with some of its flanks: six radii wide, the apex near the lower edge. */
export function tipWindow(radiusUm: number, widthPx: number): Window {
  const umPerPx = (6 * radiusUm) / widthPx;
  return {
    leftUm: -3 * radiusUm,
    topUm: -2.6 * radiusUm,
    widthPx,
    heightPx: Math.round((4.2 * radiusUm) / umPerPx),
    umPerPx,
  };
}

const round = (value: number): string => value.toFixed(2);

function path(points: readonly Point[]): string {
  return points.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${round(x)} ${round(y)}`).join('');
}

export const dataUri = (picture: { bytes: Uint8Array; mediaType: string }): string =>
  `data:${picture.mediaType};base64,${Buffer.from(picture.bytes).toString('base64')}`;

/** A round length that fits into a fifth of the width. */
function barLength(width: number): number {
  const most = width / 5;
  const power = 10 ** Math.floor(Math.log10(most));
  return [5, 2, 1].map((step) => step * power).find((length) => length <= most) ?? power;
}

function scaleBar(window: Window, unit: Unit): Markup {
  const width = window.widthPx * window.umPerPx;
  const length = barLength(width);
  const x = window.leftUm + width * 0.04;
  const y = window.topUm + window.heightPx * window.umPerPx * 0.95;
  return html`<path d="M${round(x)} ${round(y)}h${round(length)}" class="bar" />
    <text x="${round(x)}" y="${round(y - width * 0.015)}" font-size="${round(width * 0.035)}"
      >${length} ${lengthUnit(unit)}</text
    >`;
}

export function overlayFigure(
  picture: { bytes: Uint8Array; mediaType: string },
  drawing: Drawing,
  window: Window,
  unit: Unit,
): Markup {
  const { leftUm, topUm, umPerPx } = window;
  const width = window.widthPx * umPerPx;
  const height = window.heightPx * umPerPx;
  // Pixel centres lie on whole numbers, so the picture's edge is half a pixel outside the first centre.
  const box = [leftUm - umPerPx / 2, topUm - umPerPx / 2, width, height].map(round);
  return html`<svg viewBox="${box.join(' ')}" role="img" aria-label="Both captures laid over each other">
    <image href="${dataUri(picture)}" x="${box[0]}" y="${box[1]}" width="${box[2]}" height="${box[3]}" />
    ${[drawing.baselineContour, drawing.laterContour].map(
      // a light edge, or the lines would be lost on the dark tip
      (contour) => html`<path d="${path(contour)}" class="line-edge" />`,
    )}
    <path d="${path(drawing.baselineContour)}" class="baseline-line" />
    <path d="${path(drawing.laterContour)}" class="later-line" />
    ${scaleBar(window, unit)}
  </svg>`;
}

/** A round step of which about `count` go into a range. */
function roundStep(low: number, high: number, count: number): number {
  const raw = (high - low) / count;
  const power = 10 ** Math.floor(Math.log10(raw));
  return power * ([1, 2, 5, 10].find((factor) => factor * power >= raw) ?? 10);
}

/** The outermost angles stand inside the axis, clear of what is written beside it. */
const ANCHOR: Readonly<Record<number, string>> = { 0: 'end', 180: 'start' };
const PLOT = { width: 120, height: 84, left: 14, right: 4, top: 4, bottom: 14 } as const;

/** The recession profile around the tip: distance gone against the angle, with its uncertainty as a grey band. */
export function profileFigure(profile: Drawing['profile'], unit: Unit): Markup | null {
  const shown = profile.filter(([angle]) => angle >= 0 && angle <= 180);
  if (shown.length < 2) return null;
  const highest = Math.max(0.2, ...shown.map(([, gone, u]) => gone + u));
  const lowest = Math.min(-0.2, ...shown.map(([, gone, u]) => gone - u));
  const x = (angle: number) =>
    PLOT.width - PLOT.right - (angle / 180) * (PLOT.width - PLOT.left - PLOT.right);
  const step = roundStep(lowest, highest, 4);
  const [low, high] = [Math.floor(lowest / step), Math.ceil(highest / step)];
  const y = (gone: number) =>
    PLOT.top + ((high - gone / step) / (high - low)) * (PLOT.height - PLOT.top - PLOT.bottom);
  const marks = Array.from({ length: high - low + 1 }, (_, i) => (low + i) * step);
  const line = (shift: (u: number) => number): Point[] =>
    shown.map(([angle, gone, u]) => [x(angle), y(gone + shift(u))]);
  const band = [...line((u) => u), ...line((u) => -u).toReversed()];
  return html`<svg viewBox="0 0 ${PLOT.width} ${PLOT.height}" role="img" aria-label="Recession profile">
    <path d="${path(band)}Z" class="band" />
    ${marks.map(
      (value) =>
        html`<path d="M${PLOT.left} ${round(y(value))}H${PLOT.width - PLOT.right}" class="grid" />
          <text x="${PLOT.left - 1}" y="${round(y(value) + 1.6)}" text-anchor="end"
            >${written(`${Number(value.toFixed(3))}`)}</text
          >`,
    )}
    ${[0, 45, 90, 135, 180].map(
      (angle) =>
        html`<path d="M${round(x(angle))} ${PLOT.top}V${PLOT.height - PLOT.bottom}" class="grid" />
          <text
            x="${round(x(angle))}"
            y="${PLOT.height - PLOT.bottom + 5}"
            text-anchor="${ANCHOR[angle] ?? 'middle'}"
            >${angle}°</text
          >`,
    )}
    <path d="${path(line(() => 0))}" class="profile-line" />
    <text x="${PLOT.left}" y="${PLOT.height - 1}">left</text>
    <text x="${PLOT.width / 2}" y="${PLOT.height - 1}" text-anchor="middle">
      angle; recession in ${lengthUnit(unit)}
    </text>
    <text x="${PLOT.width - PLOT.right}" y="${PLOT.height - 1}" text-anchor="end">right</text>
  </svg>`;
}
