import { scaleLinear } from 'd3-scale';
import { area, line } from 'd3-shape';
import { lengthUnit, type LengthUnit, type ReportUnit } from '../format.ts';
import { aroundTip, type Profile } from './profile-plot.tsx';

const WIDTH = 900;
const HEIGHT = 360;
const EDGE = { top: 40, right: 20, bottom: 52, left: 70 };

/** Text from people is text, in a drawing too. */
const escaped = (text: string): string =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;').replaceAll('"', '&quot;');

/** The recession profile as a drawing that stands alone: axes with units, the line, and its uncertainty as a band. */
export function profileSvg(given: Profile, unit: LengthUnit, counted: ReportUnit, title: string): string {
  const profile = aroundTip(given);
  const { factor, symbol } = lengthUnit(unit, counted);
  const angles = profile.map(([angle]) => angle);
  const ends = profile.flatMap(([, value, U]) => [(value - U) * factor, (value + U) * factor]);
  // As on screen: the left wall on the left.
  const x = scaleLinear()
    .domain([Math.max(...angles), Math.min(...angles)])
    .range([EDGE.left, WIDTH - EDGE.right]);
  const y = scaleLinear()
    .domain([Math.min(-0.5 * factor, ...ends), Math.max(factor, ...ends)])
    .nice()
    .range([HEIGHT - EDGE.bottom, EDGE.top]);
  const band = area<Profile[number]>()
    .x(([angle]) => x(angle))
    .y0(([, value, U]) => y((value - U) * factor))
    .y1(([, value, U]) => y((value + U) * factor));
  const path = line<Profile[number]>()
    .x(([angle]) => x(angle))
    .y(([, value]) => y(value * factor));
  const yTicks = y
    .ticks(6)
    .map(
      (tick) =>
        `<path d="M${EDGE.left} ${y(tick)}H${WIDTH - EDGE.right}" stroke="#ccc"/><text x="${EDGE.left - 8}" y="${y(tick) + 4}" text-anchor="end">${tick}</text>`,
    );
  const xTicks = x
    .ticks(8)
    .map(
      (tick) =>
        `<path d="M${x(tick)} ${HEIGHT - EDGE.bottom}v5" stroke="#000"/><text x="${x(tick)}" y="${HEIGHT - EDGE.bottom + 20}" text-anchor="middle">${tick}°</text>`,
    );
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${WIDTH}" height="${HEIGHT}" viewBox="0 0 ${WIDTH} ${HEIGHT}" font-family="sans-serif" font-size="13">`,
    `<title>${escaped(title)}: recession profile</title>`,
    `<rect width="${WIDTH}" height="${HEIGHT}" fill="#fff"/>`,
    `<text x="${EDGE.left}" y="22" font-weight="bold">${escaped(title)}</text>`,
    ...yTicks,
    ...xTicks,
    `<path d="${band(profile) ?? ''}" fill="#bbb" fill-opacity="0.6"/>`,
    `<path d="M${EDGE.left} ${y(0)}H${WIDTH - EDGE.right}" stroke="#000"/>`,
    `<path d="${path(profile) ?? ''}" fill="none" stroke="#ad4800" stroke-width="1.8"/>`,
    `<text x="${WIDTH / 2}" y="${HEIGHT - 10}" text-anchor="middle">Angle around the tip: 90° at the apex, 180° left, 0° right</text>`,
    `<text transform="translate(18 ${HEIGHT / 2}) rotate(-90)" text-anchor="middle">Recession, ${symbol} (grey: expanded uncertainty)</text>`,
    '</svg>',
    '',
  ].join('\n');
}
