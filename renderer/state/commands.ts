import { BENCH } from './bench-commands.ts';
import { currentLive } from '../camera/current.ts';
import type { Daybook, DaybookModel } from './model.ts';
import { stylusOf } from './route.ts';
import { stylusCommands } from './shelf-commands.ts';

/**
 * Everything that can be done, declared once: the command list, the shortcuts and the help page read this table.
 * Shortcuts carry Ctrl/Cmd or Alt, so that none fires while somebody writes.
 */
export type Command = {
  readonly id: string;
  readonly title: string;
  /** "Mod" is Ctrl, or Cmd on a Mac. Keys by their place on the keyboard (KeyboardEvent.code). */
  readonly shortcut?: {
    readonly mod?: true;
    readonly alt?: true;
    readonly shift?: true;
    readonly code: string;
    readonly label: string;
  };
  readonly when: (state: Daybook) => boolean;
  /**
   * Its keys count even where it is not offered: fingers are faster than the window, which may not have heard yet of the
   * last change. Whoever carries it out says when there is nothing to do.
   */
  readonly pressedAnytime?: true;
  readonly run: (model: DaybookModel) => void;
};

const always = (): boolean => true;
const onStylus = (state: Daybook): boolean => stylusOf(state.route) !== null && state.page !== null;
const alt = (letter: string): Command['shortcut'] & object => ({
  alt: true,
  code: `Key${letter}`,
  label: `Alt+${letter}`,
});

const withStylus = (act: (model: DaybookModel, stylusId: string) => void) => (model: DaybookModel) => {
  const id = stylusOf(model.store.getState().route);
  if (id !== null) act(model, id);
};

const GENERAL: readonly Command[] = [
  {
    id: 'commands',
    title: 'Command list',
    shortcut: { mod: true, code: 'KeyK', label: 'Ctrl+K' },
    when: always,
    run: ({ open }) => open({ kind: 'commands' }),
  },
  {
    id: 'shelf',
    title: 'Go to the shelf',
    shortcut: alt('S'),
    when: always,
    run: ({ leave }) => leave({ screen: 'shelf' }),
  },
  {
    id: 'offers',
    title: 'Used turntables on offer',
    when: always,
    run: ({ leave }) => leave({ screen: 'offers' }),
  },
  {
    id: 'new-stylus',
    title: 'New stylus',
    shortcut: alt('N'),
    when: always,
    run: ({ open }) => open({ kind: 'stylus', stylusId: null }),
  },
  {
    id: 'add-pictures',
    title: 'Add pictures',
    shortcut: alt('I'),
    when: always,
    run: ({ open, store }) => open({ kind: 'import', stylusId: stylusOf(store.getState().route), files: [] }),
  },
  {
    id: 'scales',
    title: 'Scale cards of the microscopes',
    shortcut: alt('U'),
    when: always,
    run: ({ leave }) => leave({ screen: 'scales' }),
  },
  {
    id: 'new-scale-card',
    title: 'New scale card from a ruled slide or two points',
    when: always,
    run: ({ open }) => open({ kind: 'scale-card', card: null, captureId: null }),
  },
  {
    id: 'keeping',
    title: 'Safekeeping: backups, checks and exports',
    shortcut: alt('Y'),
    when: always,
    run: ({ leave }) => leave({ screen: 'keeping' }),
  },
  {
    id: 'bin',
    title: 'Open the bin',
    shortcut: alt('B'),
    when: always,
    run: ({ leave }) => leave({ screen: 'bin' }),
  },
  {
    id: 'undo',
    title: 'Undo the last change',
    shortcut: { mod: true, code: 'KeyZ', label: 'Ctrl+Z' },
    when: (state) => state.history.undo !== null,
    pressedAnytime: true,
    run: ({ undo }) => void undo(),
  },
  {
    id: 'redo',
    title: 'Redo what was undone',
    shortcut: { mod: true, shift: true, code: 'KeyZ', label: 'Ctrl+Shift+Z' },
    when: (state) => state.history.redo !== null,
    pressedAnytime: true,
    run: ({ redo }) => void redo(),
  },
  {
    id: 'settings',
    title: 'Settings',
    shortcut: alt('O'),
    when: always,
    run: ({ open }) => open({ kind: 'settings' }),
  },
  {
    id: 'help',
    title: 'Help and cautions',
    shortcut: { code: 'F1', label: 'F1' },
    when: always,
    run: ({ open }) => open({ kind: 'help' }),
  },
  {
    id: 'unit',
    title: 'Show lengths in the other unit (µm or mil)',
    when: always,
    run: ({ set, store }) => set({ unit: store.getState().settings.unit === 'um' ? 'mil' : 'um' }),
  },
];

const STYLUS: readonly Command[] = [
  {
    id: 'stylus',
    title: 'Go to the stylus page',
    when: (state) => onStylus(state) && state.route.screen !== 'stylus',
    run: withStylus(({ leave }, stylusId) => leave({ screen: 'stylus', stylusId })),
  },
  {
    id: 'log',
    title: 'Log playing time',
    shortcut: alt('L'),
    when: onStylus,
    run: withStylus(({ open }, stylusId) => open({ kind: 'playing', stylusId, entry: null })),
  },
  {
    id: 'live',
    title: 'Live picture from the microscope',
    shortcut: alt('M'),
    when: (state) => onStylus(state) && state.route.screen !== 'camera',
    run: withStylus(({ leave }, stylusId) => leave({ screen: 'camera', stylusId, view: 'front' })),
  },
  {
    id: 'habit',
    title: 'Weekly habit of playing',
    when: onStylus,
    run: withStylus(({ open }, stylusId) => open({ kind: 'habit', stylusId, habit: null })),
  },
  {
    id: 'play-list',
    title: 'Bring in a play list (CSV)',
    when: onStylus,
    run: withStylus(({ open }, stylusId) => open({ kind: 'play-list', stylusId })),
  },
  {
    id: 'compare',
    title: 'Compare two pictures',
    shortcut: alt('C'),
    when: onStylus,
    run: withStylus(({ open }, stylusId) => open({ kind: 'compare', stylusId })),
  },
  {
    id: 'listening',
    title: 'Listening: passages, test bands, recordings',
    when: onStylus,
    run: withStylus(({ leave }, stylusId) => leave({ screen: 'listening', stylusId })),
  },
  {
    id: 'sheet',
    title: 'Condition sheet',
    shortcut: alt('P'),
    when: onStylus,
    run: withStylus(({ leave }, stylusId) => leave({ screen: 'sheet', stylusId, comparisonId: null })),
  },
  {
    id: 'first-set',
    title: 'First set of pictures of a new stylus, step by step',
    when: onStylus,
    run: withStylus(({ leave }, stylusId) => leave({ screen: 'first-set', stylusId })),
  },
  {
    id: 'repeatability',
    title: 'Repeatability: how far one reading of yours scatters',
    when: onStylus,
    run: withStylus(({ leave }, stylusId) => leave({ screen: 'studies', stylusId })),
  },
  {
    id: 'cleaning-pair',
    title: 'Compare two pictures before and after cleaning',
    when: onStylus,
    run: ({ open }) => open({ kind: 'cleaning-pair' }),
  },
  ...(['cleaning', 'listening', 'set-up', 'note', 'decision'] as const).map((entryKind) => ({
    id: `add-${entryKind}`,
    title: `Add to the timeline: ${entryKind === 'listening' ? 'listening check' : entryKind}`,
    when: onStylus,
    run: withStylus(({ open }, stylusId) => open({ kind: 'entry', stylusId, entryKind, entry: null })),
  })),
  {
    id: 'edit-stylus',
    title: 'Edit this stylus',
    when: onStylus,
    run: withStylus(({ open }, stylusId) => open({ kind: 'stylus', stylusId })),
  },
  {
    id: 'retire-stylus',
    title: 'Retire this stylus',
    when: onStylus,
    run: withStylus(({ open }, stylusId) => open({ kind: 'retire', stylusId })),
  },
  {
    id: 'bin-stylus',
    title: 'Put this stylus into the bin',
    when: onStylus,
    run: withStylus(
      ({ bin, store }, stylusId) =>
        void bin('stylus', stylusId, `“${store.getState().page?.stylus.name ?? 'The stylus'}”`),
    ),
  },
];

const onCamera = (state: Daybook): boolean => state.route.screen === 'camera';

const CAMERA: readonly Command[] = [
  {
    id: 'take',
    title: 'Take the picture',
    shortcut: alt('T'),
    when: onCamera,
    run: () => currentLive()?.take(),
  },
  {
    id: 'freeze',
    title: 'Freeze the live picture, or go on',
    shortcut: alt('F'),
    when: onCamera,
    run: () => currentLive()?.freeze(),
  },
];

export const COMMANDS: readonly Command[] = [...GENERAL, ...STYLUS, ...BENCH, ...CAMERA];

type Press = Pick<KeyboardEvent, 'code' | 'ctrlKey' | 'metaKey' | 'altKey' | 'shiftKey'>;

export function commandFor(press: Press, state: Daybook): Command | null {
  const mod = press.ctrlKey || press.metaKey;
  return (
    COMMANDS.find(
      ({ shortcut, when, pressedAnytime }) =>
        shortcut !== undefined &&
        shortcut.code === press.code &&
        (shortcut.mod ?? false) === mod &&
        (shortcut.alt ?? false) === press.altKey &&
        (shortcut.shift ?? false) === press.shiftKey &&
        (pressedAnytime === true || when(state)),
    ) ?? null
  );
}

/** Every word typed must appear somewhere in the title; the order does not matter. */
export function findCommands(text: string, state: Daybook): Command[] {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  return [...COMMANDS, ...stylusCommands(state)].filter(
    (command) =>
      command.id !== 'commands' &&
      command.when(state) &&
      words.every((word) => command.title.toLowerCase().includes(word)),
  );
}
