import { createStore, type StoreApi } from 'zustand/vanilla';
import { FIRST_VIEW, zoomAbout, type StageView } from './geometry.ts';

/** How the two pictures are looked at. Nothing here changes what was measured. */
export const WAYS = ['over', 'turns', 'edge', 'panes', 'outlines', 'difference'] as const;
export type Way = (typeof WAYS)[number];
export const WAY_WORDS: Readonly<Record<Way, { name: string; hint: string }>> = {
  over: { name: 'Laid over', hint: 'Both pictures in one, in two tints that add up to white' },
  turns: { name: 'Taking turns', hint: 'One picture, then the other, in the same place' },
  edge: { name: 'Split', hint: 'Baseline on one side of a movable edge, later picture on the other' },
  panes: { name: 'Side by side', hint: 'Two panes that move together' },
  outlines: { name: 'Outlines', hint: 'Only the measured outlines' },
  difference: {
    name: 'Difference',
    hint: 'Grey where the two pictures agree, orange or blue where they do not',
  },
};

export type Tone = { readonly brightness: number; readonly contrast: number };
export type BenchState = {
  readonly way: Way;
  readonly view: StageView;
  /** False until the first fit: a new pair starts on its tip. */
  readonly placed: boolean;
  readonly turning: boolean;
  readonly turnsPerSecond: number;
  readonly showsLater: boolean;
  readonly edgeDeg: number;
  /** Where the edge stands, from -50 to 50 per cent of the stage's diagonal. */
  readonly edgePercent: number;
  /** How much the difference is stretched; see difference.ts. */
  readonly gain: number;
  readonly outlines: boolean;
  readonly walls: boolean;
  readonly probeDeg: number | null;
  readonly tones: { readonly baseline: Tone; readonly later: Tone };
};

/** Faster flicker can harm; this is the limit everywhere. */
export const MOST_TURNS_PER_SECOND = 3;
const PLAIN: Tone = { brightness: 1, contrast: 1 };

export const FRESH: BenchState = {
  way: 'over',
  view: FIRST_VIEW,
  placed: false,
  turning: false,
  turnsPerSecond: 1,
  showsLater: false,
  edgeDeg: 0,
  edgePercent: 0,
  gain: 8,
  outlines: true,
  walls: false,
  probeDeg: null,
  tones: { baseline: PLAIN, later: PLAIN },
};

export type BenchStore = StoreApi<BenchState>;
export const benchStore: BenchStore = createStore<BenchState>()(() => FRESH);

/** Choosing the alternation starts it, unless the person asked the system for less motion. */
export function chooseWay(way: Way, calm: boolean): void {
  benchStore.setState({ way, turning: way === 'turns' && !calm });
}

export function changeView(change: (view: StageView) => StageView): void {
  benchStore.setState((state) => ({ view: change(state.view), placed: true }));
}

export const zoomBy = (factor: number): void => changeView((view) => zoomAbout(view, factor, { x: 0, y: 0 }));
export const turnBy = (degrees: number): void =>
  changeView((view) => ({ ...view, turnDeg: normalTurn(view.turnDeg + degrees) }));

export const normalTurn = (degrees: number): number => ((((degrees + 180) % 360) + 360) % 360) - 180;

export function setTone(which: 'baseline' | 'later', tone: Partial<Tone>): void {
  benchStore.setState(({ tones }) => ({ tones: { ...tones, [which]: { ...tones[which], ...tone } } }));
}
