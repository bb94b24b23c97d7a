import { useStore } from 'zustand';
import type { Capture } from '../../shared/index.ts';
import { formatDated } from '../format.ts';
import { benchStore, type BenchState } from './bench-state.ts';
import { differenceWords } from './difference.ts';
import { linesIn, TINTS } from './draw.ts';

/** One mark on the stage and what it stands for. A line and a fill of one colour never mean two things at once. */
export type Key = {
  readonly look: 'solid' | 'dashed' | 'fill';
  readonly colour: string;
  readonly text: string;
};
export type LegendParts = { readonly keys: readonly Key[]; readonly remark: string | null };

type Pictures = { readonly baseline: Capture; readonly later: Capture; readonly registered: boolean };

/** What the present way of looking shows: lines by their style, fills by their colour. */
export function legendOf(
  { way, gain }: Pick<BenchState, 'way' | 'gain'>,
  { baseline, later, registered }: Pictures,
): LegendParts {
  const colours = linesIn(way);
  const blended = way === 'over' || way === 'difference';
  const named = (name: string, capture: Capture): string =>
    `${blended ? `outline of the ${name}` : name}, ${formatDated(capture.taken)}`;
  const lines: Key[] = [
    { look: 'solid', colour: colours.baseline, text: named('baseline', baseline) },
    { look: 'dashed', colour: colours.later, text: named(blended ? 'later picture' : 'later', later) },
  ];
  if (way === 'difference') return { keys: lines, remark: differenceWords(gain) };
  if (way !== 'over') return { keys: lines, remark: null };
  const silhouettes = registered && baseline.light === 'backlit' && later.light === 'backlit';
  return silhouettes
    ? {
        keys: [
          ...lines,
          { look: 'fill', colour: TINTS.later, text: 'orange: part of the baseline that has gone' },
          { look: 'fill', colour: TINTS.baseline, text: 'blue: something added since' },
        ],
        remark: 'Both pictures agree where it is black, grey or white.',
      }
    : {
        keys: [
          ...lines,
          { look: 'fill', colour: TINTS.later, text: 'orange: only the later picture is bright' },
          { look: 'fill', colour: TINTS.baseline, text: 'blue: only the baseline is bright' },
        ],
        remark: 'Grey where both agree.',
      };
}

export function Legend(pictures: Pictures) {
  const way = useStore(benchStore, (state) => state.way);
  const gain = useStore(benchStore, (state) => state.gain);
  const { keys, remark } = legendOf({ way, gain }, pictures);
  return (
    <p className="legend bench-legend">
      {keys.map(({ look, colour, text }) => (
        <span key={text}>
          <i className={`key key-${look}`} style={{ color: colour }} aria-hidden="true" />
          {text}
        </span>
      ))}
      {remark !== null && <span className="hint">{remark}</span>}
    </p>
  );
}
