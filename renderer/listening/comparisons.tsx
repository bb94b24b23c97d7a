import { useState } from 'react';
import type { PassageResult, Recording, SoundComparison } from '../../shared/index.ts';
import { formatMeasured, formatPlain } from '../format.ts';
import { useModel } from '../state/use.ts';
import { Refused } from '../ui/bits.tsx';
import { ChoiceField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { recordingName } from './listening-screen.tsx';

/** Two recordings of one passage laid over each other, and what became of the treble. */
export function Comparisons({
  recordings,
  comparisons,
}: {
  readonly recordings: readonly Recording[];
  readonly comparisons: readonly SoundComparison[];
}) {
  const { host, run, bin, refresh } = useModel();
  const [earlierId, setEarlier] = useState(recordings[0].id);
  const [laterId, setLater] = useState(recordings.at(-1)!.id);
  if (recordings.length < 2)
    return <p className="hint">A second recording of this passage can be compared with this one.</p>;
  const choices = recordings.map((one) => ({
    value: one.id,
    label: `${recordingName(one)} (${one.fileName})`,
  }));
  const there = new Set(recordings.map((one) => one.id));
  const known = (id: string): string => (there.has(id) ? id : recordings[0].id);
  const compare = async (): Promise<void> => {
    const made = await run('Comparing the recordings', (jobId) =>
      host.call('recording.compare', { earlierId: known(earlierId), laterId: known(laterId), jobId }),
    );
    if (made !== null) await refresh();
  };
  const own = comparisons.filter((one) => there.has(one.earlierId) && there.has(one.laterId));
  const nameOf = (id: string): string => recordingName(recordings.find((one) => one.id === id)!);
  return (
    <>
      <div className="form sound-pair">
        <ChoiceField label="Then" value={known(earlierId)} choices={choices} onChange={setEarlier} />
        <ChoiceField label="Now" value={known(laterId)} choices={choices} onChange={setLater} />
        <button
          type="button"
          className="button"
          disabled={known(earlierId) === known(laterId)}
          onClick={() => void compare()}
        >
          <Icon name="compare" />
          Compare the recordings
        </button>
      </div>
      {own.map((one) => (
        <article key={one.id} className="sound-comparison">
          <h4>
            {`${nameOf(one.earlierId)} and ${nameOf(one.laterId)}`}
            <button
              type="button"
              className="button button-quiet button-icon"
              aria-label={`Put into the bin: comparison of ${nameOf(one.earlierId)} and ${nameOf(one.laterId)}`}
              onClick={() => void bin('sound-comparison', one.id, 'The comparison of the recordings')}
            >
              <Icon name="bin" />
            </button>
          </h4>
          {one.report.ok ? (
            <PassageView result={one.report.value} />
          ) : (
            <Refused sentence={one.report.reason.message} />
          )}
        </article>
      ))}
    </>
  );
}

const DB = { factor: 1, symbol: 'dB' };
const NAMES = { left: 'Left', right: 'Right', mono: 'One channel' } as const;
const kilo = (hz: number): string => formatPlain(hz / 1000, hz % 1000 === 0 ? 0 : 1, 'kHz');

export function passageSentence(result: PassageResult): string {
  const speed = result.speedDifferencePercent;
  return (
    `The later one runs ${formatPlain(Math.abs(speed), 2, '%')} ${speed >= 0 ? 'faster' : 'slower'}; ` +
    `${formatPlain(result.overlapSeconds, 1, 's')} of both lie on each other to ${formatPlain(result.residualSamples, 2, 'samples')} (root mean square). ` +
    `Levels are taken relative to ${result.referenceHz[0]} to ${formatPlain(result.referenceHz[1], 0, 'Hz')}. Uncertainties: repeatability over ${result.segments} pieces of the passage (about 95 in 100). Two takes of one day show how far takes differ by themselves.`
  );
}

function PassageView({ result }: { readonly result: PassageResult }) {
  const bands = result.channels[0].bands;
  return (
    <>
      <table className="band-table">
        <thead>
          <tr>
            <th scope="col">Change</th>
            {result.channels.map((channel) => (
              <th key={channel.name} scope="col">
                {NAMES[channel.name]}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          <tr>
            <th scope="row">above 5 kHz</th>
            {result.channels.map((channel) => (
              <td key={channel.name}>{formatMeasured(channel.above5kDb, DB)}</td>
            ))}
          </tr>
          {bands.map((band, i) => (
            <tr key={band.centreHz}>
              <th scope="row">{`third of an octave at ${kilo(band.centreHz)}`}</th>
              {result.channels.map((channel) => (
                <td key={channel.name}>{formatMeasured(channel.bands[i].changeDb, DB)}</td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
      <SpectraPlot result={result} />
      <p className="hint">{passageSentence(result)}</p>
      {result.warnings.map((warning) => (
        <p className="notice" key={warning.code}>
          {warning.message}
        </p>
      ))}
    </>
  );
}

const WIDTH = 560;
const HEIGHT = 170;

function SpectraPlot({ result }: { readonly result: PassageResult }) {
  const { spectra } = result;
  const levels = spectra.flatMap(([, a, b]) => [a, b]);
  const [low, high] = [Math.max(-80, Math.min(...levels)) - 2, Math.max(...levels) + 2];
  const [first, last] = [spectra[0][0], spectra.at(-1)![0]];
  const x = (hz: number): number => 50 + ((WIDTH - 70) * Math.log(hz / first)) / Math.log(last / first);
  const y = (db: number): number => 10 + ((HEIGHT - 40) * (high - Math.max(low, db))) / (high - low);
  const line = (which: 1 | 2): string =>
    spectra
      .map((point, i) => `${i === 0 ? 'M' : 'L'}${x(point[0]).toFixed(1)} ${y(point[which]).toFixed(1)}`)
      .join('');
  return (
    <figure className="chart small-chart">
      <figcaption>Spectrum in thirds of an octave, dB. Solid: then; dashed: now.</figcaption>
      <svg
        viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
        width={WIDTH}
        height={HEIGHT}
        role="img"
        aria-label="Spectra then and now; the changes above 5 kHz stand in the table"
      >
        {[500, 1000, 2000, 5000, 10_000].map((hz) => (
          <g key={hz}>
            <line className="chart-grid" x1={x(hz)} x2={x(hz)} y1={10} y2={HEIGHT - 30} />
            <text x={x(hz)} y={HEIGHT - 12} textAnchor="middle">
              {hz < 1000 ? `${hz} Hz` : `${hz / 1000} kHz`}
            </text>
          </g>
        ))}
        {[high - 2, (high + low) / 2, low + 2].map((db) => (
          <text key={db} x={44} y={y(db) + 4} textAnchor="end">
            {db.toFixed(0).replace('-', '−')}
          </text>
        ))}
        <path className="spectrum-then" d={line(1)} />
        <path className="spectrum-now" d={line(2)} />
      </svg>
    </figure>
  );
}
