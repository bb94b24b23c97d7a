import type { Measured, ToneReport, ToneResult, ToneTake } from '../../shared/index.ts';
import { formatMeasured, formatPlain, NBSP } from '../format.ts';
import { Refused } from '../ui/bits.tsx';
import { recordingName } from './listening-screen.tsx';

/** What a recorded test band shows: as a table, and against the other days as a small drawing with its own table. */
const PERCENT = { factor: 1, symbol: '%' };
const DB = { factor: 1, symbol: 'dB' };
const NAMES = { left: 'Left', right: 'Right', mono: 'One channel' } as const;

const level = (value: Measured, detected: boolean, limit: number): string =>
  detected ? formatMeasured(value, PERCENT) : `not detected, below${NBSP}${limit.toPrecision(2)}${NBSP}%`;

export function ToneTable({ report, name }: { readonly report: ToneReport; readonly name: string }) {
  if (!report.ok) return <Refused sentence={report.reason.message} />;
  const { channels, balanceDb, separationDb, warnings } = report.value;
  const orders = channels[0].harmonics.map((one) => one.order);
  return (
    <div className="tone-result">
      <table aria-label={`Distortion, ${name}`}>
        <thead>
          <tr>
            <th scope="col">Channel</th>
            <th scope="col">THD</th>
            {orders.map((order) => (
              <th
                key={order}
                scope="col"
              >{`${order}${order === 2 ? 'nd' : order === 3 ? 'rd' : 'th'} harmonic`}</th>
            ))}
          </tr>
        </thead>
        <tbody>
          {channels.map((channel) => (
            <tr key={channel.name}>
              <th scope="row">{NAMES[channel.name]}</th>
              <td>{level(channel.thdPercent, channel.thdDetected, channel.thdLimitPercent)}</td>
              {channel.harmonics.map((one) => (
                <td key={one.order}>{level(one.percent, one.detected, one.limitPercent)}</td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
      <p className="hint">{toneSentence(report.value)}</p>
      {balanceDb !== null && <p>{`Balance: left over right ${formatMeasured(balanceDb, DB)}.`}</p>}
      {separationDb !== null && (
        <p>
          {`Separation: the other channel lies ${separationDb.atLeast ? 'at least ' : ''}${formatMeasured(separationDb.value, DB)} below the ${separationDb.driven} one.`}
        </p>
      )}
      {warnings.map((warning) => (
        <p className="notice" key={warning.code}>
          {warning.message}
        </p>
      ))}
    </div>
  );
}

export function toneSentence(tone: ToneResult): string {
  const off = tone.speedErrorPercent;
  const speed = `${formatPlain(Math.abs(off), 2, '%')} ${off >= 0 ? 'fast' : 'slow'}`;
  return (
    `The tone runs at ${formatPlain(tone.frequencyHz, 1, 'Hz')}, ${speed}, with ${formatPlain(tone.wowPercent, 2, '%')} of wow (root mean square, unweighted). ` +
    `Uncertainties: repeatability over ${tone.segments} pieces of ${formatPlain(tone.usedSeconds, 1, 's')} (about 95 in 100); record, arm and converter share in every value, so the change counts. Window: ${tone.window}.`
  );
}

type Point = {
  readonly name: string;
  readonly channel: string;
  readonly thd: Measured;
  readonly count: number;
};

const pointsOf = (takes: readonly ToneTake[]): Point[] =>
  takes.flatMap((take) =>
    take.channels.map((channel) => ({
      name: recordingName(take),
      channel: channel.name,
      thd: channel.thdPercent,
      count: take.count,
    })),
  );

/** Several takes of one day say more than the pieces of one: how far they differ with the needle put down anew. */
const takesText = (points: readonly Point[]): string =>
  points
    .filter((point) => point.count > 1)
    .map(
      (point) =>
        `${point.name}, ${point.channel}: ${formatMeasured(point.thd, PERCENT)} (${point.count} takes)`,
    )
    .join('; ');

const WIDTH = 560;
const HEIGHT = 150;

/** THD of each day side by side; round marks are left, square ones right. */
export function ToneHistory({ takes }: { readonly takes: readonly ToneTake[] }) {
  const points = pointsOf(takes);
  const several = takesText(points);
  const names = [...new Set(points.map((point) => point.name))];
  if (names.length < 2) return several === '' ? null : <p>{`THD of the takes together: ${several}.`}</p>;
  const most = Math.max(...points.map((point) => point.thd.value + point.thd.expanded)) * 1.1;
  const x = (name: string): number => 60 + ((WIDTH - 90) * (names.indexOf(name) + 0.5)) / names.length;
  const y = (value: number): number => HEIGHT - 30 - ((HEIGHT - 45) * Math.max(0, value)) / most;
  const label = `THD then and now: ${points.map((p) => `${p.name}, ${p.channel}: ${formatMeasured(p.thd, PERCENT)}`).join('; ')}`;
  return (
    <figure className="chart small-chart">
      <figcaption>THD then and now, per cent of the tone. Round: left; square: right.</figcaption>
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} width={WIDTH} height={HEIGHT} role="img" aria-label={label}>
        {[0, most / 2.2, most / 1.1].map((value) => (
          <g key={value}>
            <line className="chart-grid" x1={55} x2={WIDTH - 20} y1={y(value)} y2={y(value)} />
            <text x={50} y={y(value) + 4} textAnchor="end">
              {value.toPrecision(2)}
            </text>
          </g>
        ))}
        {names.map((name) => (
          <text key={name} x={x(name)} y={HEIGHT - 10} textAnchor="middle">
            {name}
          </text>
        ))}
        {points.map((point) => {
          const right = point.channel === 'right';
          const at = x(point.name) + (point.channel === 'mono' ? 0 : right ? 9 : -9);
          const [low, high] = [point.thd.value - point.thd.expanded, point.thd.value + point.thd.expanded];
          return (
            <g key={`${point.name}${point.channel}`} className={`mark mark-${right ? 'right' : 'left'}`}>
              <path d={`M${at} ${y(low)}V${y(high)}`} />
              {right ? (
                <path className="mark-solid" d={`M${at - 4} ${y(point.thd.value) - 4}h8v8h-8z`} />
              ) : (
                <path
                  className="mark-solid"
                  d={`M${at - 4.5} ${y(point.thd.value)}a4.5 4.5 0 109 0a4.5 4.5 0 10-9 0`}
                />
              )}
            </g>
          );
        })}
      </svg>
      {several !== '' && <p className="hint">{`Takes together: ${several}.`}</p>}
    </figure>
  );
}
