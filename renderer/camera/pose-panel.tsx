import { useStore } from 'zustand';
import type { Capture } from '../../shared/index.ts';
import type { PoseDifference } from '../../core/live/pose.ts';
import { formatDated, formatPlain, type LengthUnit } from '../format.ts';
import { ChoiceField, LiveNumberField, TickField } from '../ui/fields.tsx';
import type { Live } from './live.ts';
import { lengthText } from './meter-panel.tsx';
import { POSE_LIMITS, type Moment } from './release.ts';

/** How the baseline lies under the live picture. */
export type Underlay = { readonly as: 'picture' | 'contour' | 'nothing'; readonly opacity: number };

const AS = [
  { value: 'picture', label: 'Its picture' },
  { value: 'contour', label: 'Its contour' },
  { value: 'nothing', label: 'Nothing' },
] as const;

type PoseProps = {
  readonly live: Live;
  readonly baseline: Capture | null;
  readonly readable: boolean;
  readonly underlay: Underlay;
  readonly setUnderlay: (underlay: Underlay) => void;
  readonly umPerPx: number | null;
  readonly unit: LengthUnit;
  readonly byItself: boolean;
  readonly setByItself: (byItself: boolean) => void;
};

/** The pose of the baseline, to be found again. */
export function PosePanel(props: PoseProps) {
  const { live, baseline, readable, underlay, setUnderlay, byItself, setByItself } = props;
  const read = useStore(live.store, (state) => state.baseline);
  if (baseline === null)
    return (
      <section className="panel-part" aria-labelledby="live-pose">
        <h2 id="live-pose">The same pose</h2>
        <p className="hint">
          This view has no baseline yet. The first picture becomes it; later ones are taken in its pose.
        </p>
      </section>
    );
  return (
    <section className="panel-part" aria-labelledby="live-pose">
      <h2 id="live-pose">The same pose as on {formatDated(baseline.taken)}</h2>
      <div className="live-form">
        <ChoiceField
          label="Baseline over it"
          value={underlay.as}
          choices={AS}
          onChange={(as) => setUnderlay({ ...underlay, as })}
        />
        <div className="live-opacity">
          <LiveNumberField
            label="Strength"
            suffix="%"
            min={0}
            max={100}
            value={Math.round(100 * underlay.opacity)}
            onChange={(percent) => setUnderlay({ ...underlay, opacity: percent / 100 })}
          />
          <input
            type="range"
            aria-label="Strength, slider"
            min={0}
            max={100}
            value={Math.round(100 * underlay.opacity)}
            onChange={(event) => setUnderlay({ ...underlay, opacity: Number(event.target.value) / 100 })}
          />
        </div>
      </div>
      {!readable && (
        <p className="hint">
          The pose is read from the tip’s outline, in front and side views. In this view, lay the baseline
          over the live picture and judge by eye.
        </p>
      )}
      {readable && read === null && (
        <p className="hint">No tip could be read in the baseline; lay it over the live picture instead.</p>
      )}
      {readable && read !== null && (
        <>
          <Readings {...props} />
          <TickField
            label="Take the picture by itself when all of it has held for a second"
            checked={byItself}
            onChange={setByItself}
          />
        </>
      )}
    </section>
  );
}

function Readings({ live, umPerPx, unit }: PoseProps) {
  const { reading, moment, session } = useStore(live.store);
  const pose = reading?.ok === true ? reading.pose : null;
  const { granted } = session.state;
  const longEdge = Math.max(granted?.widthPx ?? 0, granted?.heightPx ?? 0);
  return (
    <>
      <p className={moment?.now === true ? 'live-now live-now-on' : 'live-now'} role="status">
        {moment?.now === true ? 'Now' : 'Not yet'}
      </p>
      {pose === null || moment === null || moment.pose === null ? (
        <p className="hint">{reading?.ok === false ? reading.sentence : 'Nothing is read yet.'}</p>
      ) : (
        <PoseTable
          pose={pose}
          moment={moment}
          length={(px) => lengthText(px, umPerPx, unit)}
          most={lengthText(POSE_LIMITS.shift * longEdge, umPerPx, unit)}
        />
      )}
    </>
  );
}

type TableProps = {
  readonly pose: PoseDifference;
  readonly moment: Moment;
  readonly length: (px: number) => string;
  /** Largest shift that counts as the same pose. */
  readonly most: string;
};

function PoseTable({ pose, moment, length, most }: TableProps) {
  const { pose: verdict, focus, still } = moment;
  if (verdict === null) return null;
  const percent = (share: number): string => formatPlain(100 * share, 1, '%');
  const rows: [string, string, string, boolean][] = [
    ['Rotation', rotationText(pose.rotationDeg), `±${POSE_LIMITS.rotationDeg}°`, verdict.rotation],
    ['Shift', shiftText(pose, length), most, verdict.shift],
    ['Size', scaleText(pose), `±${percent(POSE_LIMITS.scale)}`, verdict.scale],
    ['View difference', percent(pose.view), percent(POSE_LIMITS.view), verdict.view],
    ['Focus', focus ? 'sharp' : 'turn the wheel', '', focus],
    ['Stillness', still ? 'still' : 'moving', '', still],
  ];
  return (
    <table className="live-pose">
      <thead className="visually-hidden">
        <tr>
          <th scope="col">What</th>
          <th scope="col">Now</th>
          <th scope="col">Limit</th>
          <th scope="col">Within</th>
        </tr>
      </thead>
      <tbody>
        {rows.map(([name, value, limit, within]) => (
          <tr key={name} className={within ? 'within' : 'outside'}>
            <th scope="row">{name}</th>
            <td>{value}</td>
            <td className="hint">{limit}</td>
            <td>
              <span aria-hidden="true">{within ? '✓' : '→'}</span>
              <span className="visually-hidden">{within ? 'within' : 'outside'}</span>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** What the hand has to do: a part that stands anticlockwise of the baseline is to be turned clockwise. */
export function rotationText(degrees: number): string {
  const text = formatPlain(Math.abs(degrees), 1, '');
  if (text === '0.0') return `${text}°`;
  return `${text}°, turn ${degrees > 0 ? 'clockwise' : 'anticlockwise'}`;
}

/** Which way the tip has to go. */
export function shiftText(
  { shiftXPx, shiftYPx }: Pick<PoseDifference, 'shiftXPx' | 'shiftYPx'>,
  length: (px: number) => string,
): string {
  const sideways = `${length(Math.abs(shiftXPx))} ${shiftXPx > 0 ? 'left' : 'right'}`;
  const upright = `${length(Math.abs(shiftYPx))} ${shiftYPx > 0 ? 'up' : 'down'}`;
  return `move ${sideways}, ${upright}`;
}

export function scaleText({ scale, scaleFrom }: Pick<PoseDifference, 'scale' | 'scaleFrom'>): string {
  const percent = formatPlain(100 * (scale - 1), 1, '%');
  return `${scale > 1 ? '+' : ''}${percent}${scaleFrom === 'radius' ? ', by the radius' : ''}`;
}
