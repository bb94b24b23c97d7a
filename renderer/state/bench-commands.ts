import { MARK_WORDS, MARK_KINDS } from '../../shared/index.ts';
import { stageActs, type StageActs } from '../bench/acts.ts';
import { benchStore, changeView, chooseWay, turnBy, WAY_WORDS, WAYS, zoomBy } from '../bench/bench-state.ts';
import { prefersCalm } from '../bench/turning.ts';
import { pickStore, startPick } from '../marks/pick.ts';
import type { Command } from './commands.ts';
import type { Daybook } from './model.ts';

/** What can be done on a screen with a stage. */
const onBench = (state: Daybook): boolean => state.route.screen === 'bench';
const onStage = (state: Daybook): boolean => state.route.screen === 'bench' || state.route.screen === 'look';
const alt = (letter: string): NonNullable<Command['shortcut']> => ({
  alt: true,
  code: `Key${letter}`,
  label: `Alt+${letter}`,
});

/** Offered where the screen on show can do it. */
const act = (id: string, title: string, pick: (acts: StageActs) => (() => void) | null): Command => {
  const found = (): (() => void) | null => {
    const acts = stageActs();
    return acts === null ? null : pick(acts);
  };
  return { id, title, when: (state) => onStage(state) && found() !== null, run: () => found()?.() };
};

export const BENCH: readonly Command[] = [
  ...WAYS.map((way) => ({
    id: `way-${way}`,
    title: `Look: ${WAY_WORDS[way].name.toLowerCase()}`,
    when: onBench,
    run: () => chooseWay(way, prefersCalm()),
  })),
  {
    id: 'measure',
    title: 'Measure this pair',
    when: (state) => onBench(state) && Object.keys(state.jobs).length === 0,
    run: ({ compare, store }) => {
      const { route } = store.getState();
      if (route.screen === 'bench') void compare(route.baselineId, route.laterId);
    },
  },
  { id: 'larger', title: 'Larger', when: onStage, run: () => zoomBy(1.25) },
  { id: 'smaller', title: 'Smaller', when: onStage, run: () => zoomBy(0.8) },
  {
    id: 'tip-down',
    title: 'Turn the tip down',
    when: onStage,
    run: () => changeView((view) => ({ ...view, turnDeg: 0 })),
  },
  { id: 'turn-left', title: 'Turn left by 5°', when: onStage, run: () => turnBy(5) },
  { id: 'turn-right', title: 'Turn right by 5°', when: onStage, run: () => turnBy(-5) },
  {
    id: 'outlines',
    title: 'Outlines over the picture, on or off',
    when: onStage,
    run: () => benchStore.setState((state) => ({ outlines: !state.outlines })),
  },
  {
    id: 'walls',
    title: 'Axes and groove walls, on or off',
    when: onStage,
    run: () => benchStore.setState((state) => ({ walls: !state.walls })),
  },
  act('fit-tip', 'Fit the tip', (acts) => acts.fitTip),
  act('whole', 'Whole picture', (acts) => acts.whole),
  act('actual', 'Actual size', (acts) => acts.actual),
  ...(['point', 'line', 'outline', 'angle'] as const).map((shape) => ({
    id: `mark-${shape}`,
    title: `Mark: ${shape} on the picture`,
    when: onStage,
    run: () => {
      const { at } = benchStore.getState().view;
      startPick('mark', shape, [at.x, at.y]);
    },
  })),
  { ...act('mark-typed', 'Mark: type it in', (acts) => acts.typeMark), shortcut: alt('K') },
  ...MARK_KINDS.map((kind) => ({
    id: `mark-kind-${kind}`,
    title: `Next mark is: ${MARK_WORDS[kind].toLowerCase()}`,
    when: onStage,
    run: () => pickStore.setState({ kind }),
  })),
  {
    id: 'marks-shown',
    title: 'Marks over the picture, on or off',
    when: onStage,
    run: () => pickStore.setState((state) => ({ shown: !state.shown })),
  },
  act('by-hand', 'Lay the later picture over by hand', (acts) => acts.byHand),
  act('save-view', 'Save the view as PNG', (acts) => acts.savePicture),
  act('save-csv', 'Save the profile as CSV', (acts) => acts.saveProfileCsv),
  act('save-svg', 'Save the profile as SVG', (acts) => acts.saveProfileSvg),
];
