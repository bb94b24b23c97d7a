import { useEffect, useState } from 'react';
import { BenchScreen } from './bench/bench.tsx';
import { LookScreen } from './bench/look.tsx';
import { CameraScreen } from './camera/camera-screen.tsx';
import { CleaningDialog } from './firstset/cleaning-dialog.tsx';
import { FirstSetScreen } from './firstset/first-set-screen.tsx';
import { CommandList } from './help/command-list.tsx';
import { HelpDialog } from './help/help-dialog.tsx';
import { SettingsDialog } from './help/settings-dialog.tsx';
import { CaptureDialog } from './importing/capture-dialog.tsx';
import { filesOfDrop } from './importing/folders.ts';
import { ImportDialog } from './importing/import-dialog.tsx';
import { OfferScreen } from './deck/offer-screen.tsx';
import { OffersScreen } from './deck/offers-screen.tsx';
import { ListeningDialog } from './listening/listening-dialog.tsx';
import { ListeningScreen } from './listening/listening-screen.tsx';
import { CardDialog } from './scales/card-dialog.tsx';
import { StudiesScreen } from './study/studies-screen.tsx';
import { StudyScreen } from './study/study-screen.tsx';
import { ScalesScreen } from './scales/scales-screen.tsx';
import { MarkDialog } from './marks/mark-dialog.tsx';
import { BinScreen } from './keeping/bin-screen.tsx';
import { KeepingScreen } from './keeping/keeping-screen.tsx';
import { CopyBanner, RecoveryScreen } from './keeping/recovery-screen.tsx';
import { SheetScreen } from './sheet/sheet.tsx';
import { Shelf } from './shelf/shelf.tsx';
import { StylusDialog } from './shelf/stylus-dialog.tsx';
import { commandFor } from './state/commands.ts';
import { stylusOf } from './state/route.ts';
import { useDaybook, useModel } from './state/use.ts';
import { CompareDialog } from './stylus/compare-dialog.tsx';
import { EntryDialog } from './stylus/entry-dialog.tsx';
import { HabitDialog } from './stylus/habit-dialog.tsx';
import { PlayListDialog } from './stylus/play-list-dialog.tsx';
import { PlayingDialog } from './stylus/playing-dialog.tsx';
import { RetireDialog } from './stylus/retire-dialog.tsx';
import { StylusScreen, NotThere } from './stylus/stylus-page.tsx';
import { Jobs } from './ui/bits.tsx';
import { Icon } from './ui/icons.tsx';
import { Toasts } from './ui/toasts.tsx';

export function App() {
  useTheme();
  useShortcuts();
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
  if (trouble !== null && !isCopy) return <RecoveryScreen trouble={trouble} />;
  return (
    <>
      {isCopy && <CopyBanner />}
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
    case 'scales':
      return <ScalesScreen />;
    case 'first-set':
      return <FirstSetScreen key={route.stylusId} />;
    case 'studies':
      return <StudiesScreen key={route.stylusId} />;
    case 'study':
      return <StudyScreen key={route.studyId} studyId={route.studyId} />;
    case 'listening':
      return <ListeningScreen key={route.stylusId} stylusId={route.stylusId} />;
    case 'offers':
      return <OffersScreen />;
    case 'offer':
      return <OfferScreen key={route.offerId} offerId={route.offerId} />;
    case 'keeping':
      return <KeepingScreen />;
    case 'bin':
      return <BinScreen />;
    case 'stylus':
      return <StylusScreen key={route.stylusId} />;
    case 'bench':
      return (
        <BenchScreen
          key={`${route.baselineId}/${route.laterId}`}
          baselineId={route.baselineId}
          laterId={route.laterId}
        />
      );
    case 'look':
      return <LookScreen key={route.captureId} captureId={route.captureId} />;
    case 'camera':
      return <CameraScreen key={route.stylusId} view={route.view} studyId={route.studyId ?? null} />;
    case 'sheet':
      break;
  }
  return <SheetScreen stylusId={route.stylusId} comparisonId={route.comparisonId} />;
}

function OpenDialog() {
  const dialog = useDaybook((state) => state.dialog);
  const page = useDaybook((state) => state.page);
  switch (dialog?.kind) {
    case 'stylus':
      return <StylusDialog stylus={dialog.stylusId === null ? null : (page?.stylus ?? null)} />;
    case 'import':
      return <ImportDialog stylusId={dialog.stylusId} files={dialog.files} />;
    case 'playing':
      return <PlayingDialog stylusId={dialog.stylusId} entry={dialog.entry} />;
    case 'habit':
      return <HabitDialog stylusId={dialog.stylusId} habit={dialog.habit} />;
    case 'play-list':
      return page === null ? null : <PlayListDialog stylus={page.stylus} />;
    case 'entry':
      if (dialog.entryKind === 'listening')
        return <ListeningDialog stylusId={dialog.stylusId} entry={dialog.entry} />;
      return <EntryDialog stylusId={dialog.stylusId} entryKind={dialog.entryKind} entry={dialog.entry} />;
    case 'capture':
      return <CaptureDialog capture={dialog.capture} page={page} />;
    case 'cleaning-pair':
      return page === null ? null : <CleaningDialog page={page} />;
    case 'scale-card':
      return <CardDialog card={dialog.card} captureId={dialog.captureId} />;
    case 'retire':
      return page === null ? null : <RetireDialog stylus={page.stylus} />;
    case 'compare':
      return page === null ? null : <CompareDialog page={page} />;
    case 'mark':
      return <MarkDialog draft={dialog.draft} id={dialog.id} sizing={dialog.sizing} />;
    case 'settings':
      return <SettingsDialog />;
    case 'help':
      return <HelpDialog />;
    case 'commands':
      return <CommandList />;
    case undefined:
      break;
  }
  return null;
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
    addEventListener('keydown', press);
    addEventListener('hashchange', hash);
    return () => {
      removeEventListener('keydown', press);
      removeEventListener('hashchange', hash);
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
