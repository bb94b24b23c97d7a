import { useState } from 'react';
import {
  formatDate,
  formatFlat,
  formatHours,
  formatInterval,
  formatMeasured,
  lengthUnit,
  type LengthUnit,
} from '../format.ts';
import type { FlatPoint } from './chart-data.ts';

type TableProps = {
  readonly points: readonly FlatPoint[];
  readonly unit: LengthUnit;
  readonly hoursKnown: boolean;
};

const SHORT = 100;

/** The chart's twin: every value as text. */
export function FlatTable({ points, unit, hoursKnown }: TableProps) {
  const rows = [...new Map(points.map((point) => [point.captureId, point])).values()];
  // Closed, a short table is still found by the browser's search; a long one is made when somebody opens it.
  const [opened, setOpened] = useState(false);
  const known = new Map(points.map((point) => [`${point.captureId} ${point.side}`, point]));
  const cell = (captureId: string, side: 'left' | 'right'): string => {
    const point = known.get(`${captureId} ${side}`);
    if (point === undefined) return 'not measured';
    const shown = lengthUnit(unit);
    const interval = point.detected ? formatInterval(point.width, shown) : null;
    return (
      formatFlat(point.width, point.detected, point.limitUm, shown) +
      (interval === null ? '' : ` (${interval})`)
    );
  };
  return (
    <details className="twin" onToggle={({ currentTarget }) => setOpened((was) => was || currentTarget.open)}>
      <summary>The measured widths as a table</summary>
      <table>
        <thead>
          <tr>
            <th scope="col">Look</th>
            <th scope="col">{hoursKnown ? 'Hours' : 'Hours since the daybook began'}</th>
            <th scope="col">Left wall</th>
            <th scope="col">Right wall</th>
          </tr>
        </thead>
        <tbody>
          {(opened || rows.length <= SHORT ? rows : []).map((row) => (
            <tr key={row.captureId}>
              <th scope="row">{row.date === null ? 'date unknown' : formatDate(row.date)}</th>
              <td>{hoursText(row)}</td>
              <td>{cell(row.captureId, 'left')}</td>
              <td>{cell(row.captureId, 'right')}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p className="hint">Values with their expanded uncertainty, about 95 % coverage.</p>
    </details>
  );
}

/** Hours with their expanded uncertainty, rounded together; without one where nothing was counted yet. */
export function hoursText({ hours, hoursStandard }: Pick<FlatPoint, 'hours' | 'hoursStandard'>): string {
  if (hours === null) return 'unknown';
  if (hoursStandard < 0.01) return formatHours(hours);
  return formatMeasured({ value: hours, expanded: 2 * hoursStandard }, { factor: 1, symbol: 'h' });
}
