import { hoursShown, ownLimitHours } from '../../../core/wear/hours-axis.ts';
import { flatPoints, type FlatPoint } from '../../../core/wear/index.ts';
import { forecastWords, type StylusPage, type WearCourse } from '../../../shared/index.ts';
import type { Database } from '../store/database.ts';
import { ledgerOf, todayHere } from '../store/hours.ts';
import { grouped, hoursText } from './format.ts';
import { html } from './html.ts';
import type { Markup } from './html.ts';

/** Flat widths against playing time with their uncertainties, the fitted law's band, the own limit; no colour needed. */
const SIZE = { width: 180, height: 62, left: 12, right: 4, top: 4, bottom: 11 } as const;
/** Between the numbers of the axis and 0 h: a new stylus's points and bars stand there, two beside each other. */
const INSET = 4;
const at = (value: number): string => value.toFixed(2);

export function wearChart(db: Database, page: StylusPage, course: WearCourse): Markup | null {
  const points = flatPoints(page, ledgerOf(db, page.stylus.id).ledger).filter((one) => one.hours !== null);
  if (points.length < 3) return null;
  const { limitUm } = page.stylus;
  const walls = [course.left, course.right].flatMap((wall) => wall ?? []);
  const played = Math.max(course.hoursNow, ...points.map((one) => one.hours ?? 0));
  const mostHours = hoursShown(played, ownLimitHours(walls));
  const mostUm =
    1.1 * Math.max(4, limitUm ?? 0, ...points.map((one) => one.width.value + one.width.expanded));
  const x = (hours: number): number =>
    SIZE.left + INSET + (hours / mostHours) * (SIZE.width - SIZE.left - INSET - SIZE.right);
  const y = (um: number): number =>
    SIZE.height -
    SIZE.bottom -
    (Math.min(mostUm, Math.max(0, um)) / mostUm) * (SIZE.height - SIZE.top - SIZE.bottom);
  const steps = (most: number): number[] => {
    const step =
      [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000].find((one) => most / one <= 6) ?? most;
    return Array.from({ length: Math.floor(most / step) + 1 }, (_, i) => i * step);
  };
  return html`<h2>Wear against hours</h2>
    <figure class="plot wear-chart">
      <svg
        viewBox="0 0 ${SIZE.width} ${SIZE.height}"
        role="img"
        aria-label="Flat widths against playing time"
      >
        ${[course.left, course.right].map((wall) =>
          wall === null
            ? null
            : bandOf(
                wall.band.filter((one) => one.hours <= mostHours),
                x,
                y,
              ),
        )}
        ${steps(mostUm).map(
          (um) =>
            html`<path d="M${SIZE.left} ${at(y(um))}H${SIZE.width - SIZE.right}" class="grid" />
              <text x="${SIZE.left - 1.5}" y="${at(y(um) + 1.3)}" text-anchor="end">${um}</text>`,
        )}
        ${steps(mostHours).map(
          (hours) =>
            html`<text x="${at(x(hours))}" y="${SIZE.height - SIZE.bottom + 4.5}" text-anchor="middle"
              >${grouped(hours)}</text
            >`,
        )}
        ${
          limitUm === null
            ? null
            : html`<path d="M${SIZE.left} ${at(y(limitUm))}H${SIZE.width - SIZE.right}" class="limit-line" />
                <text x="${SIZE.width - SIZE.right}" y="${at(y(limitUm) - 1)}" text-anchor="end"
                  >own limit</text
                >`
        }
        ${points.map((one) => mark(one, x, y))}
        <text x="${SIZE.width - SIZE.right}" y="${SIZE.height - 1}" text-anchor="end">hours played</text>
        <text x="1" y="${SIZE.height - 1}">flat, µm. Round: left; square: right; open: not detected</text>
      </svg>
      <figcaption>
        Bars: expanded uncertainty. Grey: where the fitted law wⁿ − w₀ⁿ = c·t puts the true width, 95 in 100.
        ${lawText(course)}
      </figcaption>
    </figure>`;
}

type Scale = (value: number) => number;

function bandOf(
  band: readonly { readonly hours: number; readonly low: number; readonly high: number }[],
  x: Scale,
  y: Scale,
): Markup | null {
  if (band.length < 2) return null;
  const up = band.map((one) => `${at(x(one.hours))} ${at(y(one.high))}`);
  const down = band.toReversed().map((one) => `${at(x(one.hours))} ${at(y(one.low))}`);
  return html`<path d="M${[...up, ...down].join('L')}Z" class="band band-clear" />`;
}

function mark(point: FlatPoint, x: Scale, y: Scale): Markup {
  const { side, width, detected } = point;
  // Side by side, so that two walls at one width do not hide each other.
  const px = x(point.hours ?? 0) + (side === 'left' ? -0.9 : 0.9);
  const py = y(width.value);
  const shape =
    side === 'left'
      ? `M${at(px - 1.1)} ${at(py)}a1.1 1.1 0 102.2 0a1.1 1.1 0 10-2.2 0`
      : `M${at(px - 1)} ${at(py - 1)}h2v2h-2z`;
  return html`<path
      d="M${at(px)} ${at(y(width.value - width.expanded))}V${at(y(width.value + width.expanded))}"
      class="error-bar"
    />
    <path d="${shape}" class="${detected ? 'point' : 'point open'}" />`;
}

/** Two significant digits, as on screen: a forecast has no more. */
const tidy = (hours: number): number => Number(hours.toPrecision(2));

const NAMES = { left: 'Left wall', right: 'Right wall' } as const;

function lawText(course: WearCourse): string {
  const said = (['left', 'right'] as const).flatMap((side) => {
    const limit = course[side]?.limit;
    if (!limit) return [];
    const { low, high } = limit.hours;
    if (low === null) return [`${NAMES[side]}: the own limit may never be reached`];
    const date = limit.dates?.low
      ? `, at the present habit not before ${forecastWords(limit.dates.low, todayHere())}`
      : '';
    return [
      `${NAMES[side]}: the own limit between ${hoursText(tidy(low))} and ${high === null ? 'never' : hoursText(tidy(high))}${date}`,
    ];
  });
  return [...said.map((one) => `${one}.`), ...course.sentences].join(' ');
}
