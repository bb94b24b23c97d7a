import { BenchScreen } from './bench/bench.tsx';
import { LookScreen } from './bench/look.tsx';
import { CameraScreen } from './camera/camera-screen.tsx';
import { CleaningDialog } from './firstset/cleaning-dialog.tsx';
import { FirstSetScreen } from './firstset/first-set-screen.tsx';
import { CommandList } from './help/command-list.tsx';
import { HelpDialog } from './help/help-dialog.tsx';
import { SettingsDialog } from './help/settings-dialog.tsx';
import { CaptureDialog } from './importing/capture-dialog.tsx';
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
import { StylusDialog } from './shelf/stylus-dialog.tsx';
import { CompareDialog } from './stylus/compare-dialog.tsx';
import { EntryDialog } from './stylus/entry-dialog.tsx';
import { HabitDialog } from './stylus/habit-dialog.tsx';
import { PlayListDialog } from './stylus/play-list-dialog.tsx';
import { PlayingDialog } from './stylus/playing-dialog.tsx';
import { RetireDialog } from './stylus/retire-dialog.tsx';
import type { Dialog } from './state/model.ts';
import type { Route } from './state/route.ts';
import { useDaybook } from './state/use.ts';

/** What a window shows later than its first screens, in a file of its own (later-parts.tsx). */
export { CopyBanner, RecoveryScreen };

/** Every screen but the shelf and the stylus' page. */
export function OtherScreen({ route }: { readonly route: Route }) {
  switch (route.screen) {
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
      return <SheetScreen stylusId={route.stylusId} comparisonId={route.comparisonId} />;
    case 'shelf':
    case 'stylus':
      break;
  }
  return null;
}

export function OtherDialog({ dialog }: { readonly dialog: Dialog }) {
  const page = useDaybook((state) => state.page);
  switch (dialog.kind) {
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
      return <MarkDialog draft={dialog.draft} id={dialog.id} sizing={dialog.sizing} ground={dialog.ground} />;
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
