import { useEffect, useState } from 'react';
import { filesOfDrop } from './importing/folders.ts';
import { Shelf } from './shelf/shelf.tsx';
import type { Trouble } from '../shared/index.ts';
import { useLater, useLaterBefore } from './later-parts.tsx';
import type { Dialog } from './state/model.ts';
import { commandFor } from './state/commands.ts';
import { stylusOf, type Route } from './state/route.ts';
import { whyUnsaved } from './state/unsaved.ts';
import { useDaybook, useModel } from './state/use.ts';
import { StylusScreen, NotThere } from './stylus/stylus-page.tsx';
import { Jobs } from './ui/bits.tsx';
import { Icon } from './ui/icons.tsx';
import { Toasts } from './ui/toasts.tsx';

export function App() {
  useTheme();
  useShortcuts();
  useLaterBefore();
  const dropping = useFilesFromOutside();
  return (
    <>
      <a className="skip" href="#main" onClick={skipToMain}>
        Skip to the content
      </a>
      <TopBar />
      <main id="main" tabIndex={-1}>
        <WholeOrNot />
      </main>
      <Jobs />
      <OpenDialog />
      <Toasts />
      {dropping && (
        <div className="drop-veil" aria-hidden="true">
          Drop the pictures to add them
        </div>
      )}
    </>
  );
}

/** The address after '#' is the screen, so the link moves the focus itself. */
function skipToMain(event: { preventDefault: () => void }): void {
  event.preventDefault();
  document.querySelector<HTMLElement>('#main')?.focus();
}

function TopBar() {
  const { open } = useModel();
  return (
    <header className="top">
      <a className="brand" href="#/">
        <Mark />
        Stylus Daybook
      </a>
      <nav className="actions" aria-label="Program">
        <button type="button" className="button button-quiet" onClick={() => open({ kind: 'commands' })}>
          <Icon name="search" />
          <span>Commands</span>
          <kbd>Ctrl+K</kbd>
        </button>
        <a className="button button-quiet" href="#/offers">
          <Icon name="flag" />
          <span>Turntables on offer</span>
        </a>
        <a className="button button-quiet" href="#/keeping">
          <Icon name="keep" />
          <span>Safekeeping</span>
        </a>
        <a className="button button-quiet" href="#/scales">
          <Icon name="ruler" />
          <span>Scale cards</span>
        </a>
        <button type="button" className="button button-quiet" onClick={() => open({ kind: 'settings' })}>
          <Icon name="gear" />
          <span>Settings</span>
        </button>
        <button type="button" className="button button-quiet" onClick={() => open({ kind: 'help' })}>
          <Icon name="help" />
          <span>Help</span>
        </button>
      </nav>
    </header>
  );
}

/** A tip in its groove: the two walls at 45 degrees and a rounded point. */
function Mark() {
  return (
    <svg viewBox="0 0 24 24" width="24" height="24" aria-hidden="true">
      <path d="M2 11l10 10l10 -10" fill="none" stroke="currentColor" strokeWidth="1.6" />
      <path d="M7 2l2.6 11.2a2.5 2.5 0 004.8 0L17 2" fill="var(--baseline)" />
    </svg>
  );
}

/** A collection that cannot be opened leaves nothing to show but the ways to get it back. */
function WholeOrNot() {
  const trouble = useDaybook((state) => state.info?.trouble ?? null);
  const isCopy = useDaybook((state) => state.info?.isCopy ?? false);
  if (trouble === null) return <Screen />;
  return <Troubled trouble={trouble} isCopy={isCopy} />;
}

function Troubled({ trouble, isCopy }: { readonly trouble: Trouble; readonly isCopy: boolean }) {
  const later = useLater();
  if (later === null) return <p className="waiting">Opening…</p>;
  if (!isCopy) return <later.RecoveryScreen trouble={trouble} />;
  return (
    <>
      <later.CopyBanner />
      <Screen />
    </>
  );
}

function Screen() {
  const route = useDaybook((state) => state.route);
  const problem = useDaybook((state) => state.problem);
  const cards = useDaybook((state) => state.cards);
  switch (route.screen) {
    case 'shelf':
      return cards === null && problem !== null ? <NotThere sentence={problem} /> : <Shelf />;
    case 'stylus':
      return <StylusScreen key={route.stylusId} />;
    default:
      return <LaterScreen route={route} />;
  }
}

function LaterScreen({ route }: { readonly route: Route }) {
  const later = useLater();
  return later === null ? <p className="waiting">Opening…</p> : <later.OtherScreen route={route} />;
}

function OpenDialog() {
  const dialog = useDaybook((state) => state.dialog);
  return dialog === null ? null : <LaterDialog dialog={dialog} />;
}

function LaterDialog({ dialog }: { readonly dialog: Dialog }) {
  const later = useLater();
  return later === null ? null : <later.OtherDialog dialog={dialog} />;
}

function useTheme(): void {
  const theme = useDaybook((state) => state.settings.theme);
  useEffect(() => {
    if (theme === 'system') delete document.documentElement.dataset['theme'];
    else document.documentElement.dataset['theme'] = theme;
  }, [theme]);
}

function isWriting(target: EventTarget | null): boolean {
  return (
    target instanceof HTMLElement && target.matches('input:not([type=checkbox], [type=range]), textarea')
  );
}

function useShortcuts(): void {
  const model = useModel();
  useEffect(() => {
    const press = (event: KeyboardEvent): void => {
      const state = model.store.getState();
      const command = commandFor(event, state);
      const steps = command?.id === 'undo' || command?.id === 'redo';
      if (command === null || (steps && isWriting(event.target))) return;
      event.preventDefault();
      // A half-filled form is not thrown away by a shortcut.
      if (state.dialog === null || state.dialog.kind === 'commands' || steps) command.run(model);
    };
    const hash = (): void => void model.follow(location.hash);
    // The browser asks in its own words, Electron's shell in ours (`electron/main.ts`).
    const close = (event: BeforeUnloadEvent): void => {
      if (whyUnsaved() !== null) event.preventDefault();
    };
    addEventListener('keydown', press);
    addEventListener('hashchange', hash);
    addEventListener('beforeunload', close);
    return () => {
      removeEventListener('keydown', press);
      removeEventListener('hashchange', hash);
      removeEventListener('beforeunload', close);
    };
  }, [model]);
}

/** Files dropped on the window or pasted go into the import dialog, wherever the person is. */
function useFilesFromOutside(): boolean {
  const model = useModel();
  const [dropping, setDropping] = useState(false);
  useEffect(() => {
    const bring = (files: readonly File[]): void => {
      const { dialog, route } = model.store.getState();
      if (dialog !== null && dialog.kind !== 'import') return;
      const before = dialog?.files ?? [];
      const stylusId = dialog === null ? stylusOf(route) : dialog.stylusId;
      model.open({ kind: 'import', stylusId, files: [...before, ...files] });
    };
    const carries = (event: DragEvent): boolean => event.dataTransfer?.types.includes('Files') ?? false;
    const over = (event: DragEvent): void => {
      if (!carries(event)) return;
      event.preventDefault();
      setDropping(true);
    };
    const leave = (event: DragEvent): void => {
      if (event.relatedTarget === null) setDropping(false);
    };
    const drop = (event: DragEvent): void => {
      if (!carries(event)) return;
      event.preventDefault();
      setDropping(false);
      if (event.dataTransfer !== null) void filesOfDrop(event.dataTransfer).then(bring);
    };
    const paste = (event: ClipboardEvent): void => {
      const files = [...(event.clipboardData?.files ?? [])];
      if (files.length === 0) return;
      event.preventDefault();
      bring(files);
    };
    addEventListener('dragover', over);
    addEventListener('dragleave', leave);
    addEventListener('drop', drop);
    addEventListener('paste', paste);
    return () => {
      removeEventListener('dragover', over);
      removeEventListener('dragleave', leave);
      removeEventListener('drop', drop);
      removeEventListener('paste', paste);
    };
  }, [model]);
  return dropping;
}
