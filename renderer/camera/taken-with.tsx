import type { CameraRecord } from '../../shared/index.ts';
import { formatPlain } from '../format.ts';
import { Line } from '../bench/numbers.tsx';
import { madeText } from './made-text.ts';
import { Parts } from './parts.tsx';

const text = (value: number | string | boolean): string =>
  typeof value === 'number' ? formatPlain(value, value % 1 === 0 ? 0 : 3, '') : String(value);

/** How a live picture was taken, beside the picture. */
export function TakenWith({
  record,
  captureId,
}: {
  readonly record: CameraRecord;
  readonly captureId: string;
}) {
  const settings = Object.entries(record.settings).toSorted(([a], [b]) => a.localeCompare(b));
  return (
    <section className="panel-part" aria-labelledby="taken-with">
      <h2 id="taken-with">How it was taken</h2>
      <dl className="numbers">
        <Line name="Camera" value={record.camera} />
        <Line name="Made" value={madeText(record.made)} />
        <Line name="Resized" value={record.resizeMode === 'none' ? 'no' : record.resizeMode} />
      </dl>
      {record.made.how === 'merge' && <Parts captureId={captureId} count={record.made.planes} />}
      {settings.length > 0 && (
        <details>
          <summary>Camera settings at that moment</summary>
          <dl className="numbers">
            {settings.map(([name, value]) => (
              <Line
                key={name}
                name={name}
                value={text(value)}
                {...(record.held.includes(name) ? { note: 'held' } : {})}
              />
            ))}
          </dl>
        </details>
      )}
    </section>
  );
}
