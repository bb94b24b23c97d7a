import { useCallback, useEffect, useMemo, useRef, useState } from 'react';
import { CardDialog } from '../scales/card-dialog.tsx';
import { JobLine } from '../scales/job-line.tsx';
import { useDaybook, useModel } from '../state/use.ts';
import { Cautions } from '../ui/bits.tsx';
import { DialogFrame } from '../ui/dialog.tsx';
import { Icon } from '../ui/icons.tsx';
import { CAUTIONS } from '../words.ts';
import { isGuess, readRow, type IntakeRow } from './intake.ts';
import { ManyBar } from './many.tsx';
import { TOGETHER, IntakeRowView } from './row.tsx';
import { useIntake, type Intake } from './use-intake.ts';

type ImportProps = { readonly stylusId: string | null; readonly files: readonly File[] };

/** Files come in through one table; nothing is in the daybook before "Add", and then all of it or nothing. */
export function ImportDialog({ stylusId, files }: ImportProps) {
  const { open, go, cancel, store } = useModel();
  const shelf = useDaybook((state) => state.cards);
  const intake = useIntake(stylusId);
  const [tried, setTried] = useState(false);
  const [slide, setSlide] = useState<IntakeRow | null>(null);
  useDroppedFiles(files, intake.take);
  const finish = useFinish(() => open(null), go);
  const ready = intake.rows.filter((row) => row.status === 'ready' && row.answers.take);
  const alone = ready.length === 1;
  const withQuestions = (): IntakeRow[] =>
    ready.filter((row) => readRow(alone ? unguessed(row) : row, intake.pages, intake.cards).input === null);
  // Asked before "Add" was tried, nobody would see the answer, and with every file read there are more rows to ask.
  const incomplete = new Set(tried ? withQuestions() : []);
  const styluses = useMemo(
    () => (shelf ?? []).map((card) => ({ value: card.stylus.id, label: card.stylus.name })),
    [shelf],
  );
  const add = async (): Promise<void> => {
    setTried(true);
    if (withQuestions().length > 0) return;
    if (alone) intake.replace((old) => old.map((row) => (row.key === ready[0].key ? unguessed(row) : row)));
    const owners = new Set(ready.map((row) => row.answers.stylusId));
    const added = await intake.add();
    await finish(added, owners);
  };
  const close = (): void => {
    // While pictures are being added, closing means: stop that. They stay listed and nothing is in.
    if (intake.adding) for (const id of Object.keys(store.getState().jobs)) void cancel(id);
    else open(null);
  };
  const { rows } = intake;
  const onSlide = useCallback((row: IntakeRow) => setSlide(row), []);
  return (
    <DialogFrame
      title="Add pictures"
      full={rows.length > 0}
      wide
      holds={rows.length > 0}
      stops={intake.adding}
      onClose={close}
      foot={
        <ImportFoot
          intake={intake}
          count={ready.length}
          problem={problemOf([...incomplete])}
          onAdd={() => void add()}
          onClose={close}
        />
      }
    >
      <Cautions title="Before you touch the stylus" lines={CAUTIONS.handling} open={rows.length === 0} />
      <FileChooser onFiles={intake.take} many={rows.length > 0} />
      {intake.passedOver.length > 0 && <PassedOver names={intake.passedOver} />}
      <ManyBar rows={rows} styluses={styluses} cards={intake.cards} replace={intake.replace} />
      {rows.length > 0 && (
        <div role="table" className="intake" aria-label="Files" aria-rowcount={rows.length + 1}>
          <div role="rowgroup">
            <div role="row" className="intake-line intake-head">
              {[TOGETHER, '', 'File', 'Stylus', 'View', 'Light', 'Taken on', 'Scale', ''].map(
                (name, index) => (
                  // oxlint-disable-next-line react/no-array-index-key
                  <span role="columnheader" key={index}>
                    {name === '' ? <span className="visually-hidden">{HEADS[index]}</span> : name}
                  </span>
                ),
              )}
            </div>
          </div>
          {rows.map((row, index) => (
            <IntakeRowView
              key={row.key}
              row={row}
              number={index + 1}
              pages={intake.pages}
              cards={intake.cards}
              styluses={styluses}
              tried={incomplete.has(row)}
              open={rows.length <= 3}
              alone={alone}
              actions={intake.actions}
              onSlide={onSlide}
            />
          ))}
        </div>
      )}
      {slide !== null && (
        <CardDialog
          card={null}
          captureId={null}
          file={slide.file}
          onClose={(kept) => {
            setSlide(null);
            if (kept) intake.leaveOut(slide.key);
          }}
        />
      )}
    </DialogFrame>
  );
}

const HEADS: Readonly<Record<number, string>> = { 1: 'Picture', 8: 'Actions' };

function problemOf(incomplete: readonly IntakeRow[]): string | null {
  if (incomplete.length === 0) return null;
  if (incomplete.every(isGuess) && incomplete.every(answeredButGuessed))
    return incomplete.length === 1
      ? 'One picture has guesses that nobody has confirmed.'
      : `${incomplete.length} pictures have guesses that nobody has confirmed.`;
  return incomplete.length === 1
    ? 'One picture still has a question.'
    : `${incomplete.length} pictures still have questions.`;
}

const unguessed = (row: IntakeRow): IntakeRow => ({ ...row, answers: { ...row.answers, guessed: {} } });
const answeredButGuessed = (row: IntakeRow): boolean => readRow(unguessed(row), []).input !== null;

/** Files dropped or pasted before or while the dialog is open; each is taken once. */
function useDroppedFiles(files: readonly File[], take: Intake['take']): void {
  const seen = useRef(new WeakSet<File>());
  useEffect(() => {
    const fresh = files.filter((file) => !seen.current.has(file));
    fresh.forEach((file) => seen.current.add(file));
    if (fresh.length > 0) take(fresh);
  }, [files, take]);
}

function useFinish(close: () => void, go: ReturnType<typeof useModel>['go']) {
  const { store, done, refresh } = useModel();
  return async (added: readonly string[], owners: ReadonlySet<string>): Promise<void> => {
    if (added.length === 0) return;
    const what = added.length === 1 ? 'One picture' : `${added.length} pictures`;
    await done(`${what} added to the daybook.`);
    await refresh();
    if (store.getState().dialog?.kind !== 'import') return;
    const [owner] = owners;
    close();
    // Beside a turntable on offer the pictures are shown where the person is.
    if (owners.size === 1 && store.getState().route.screen !== 'offer')
      go({ screen: 'stylus', stylusId: owner });
  };
}

function PassedOver({ names }: { readonly names: readonly string[] }) {
  const some = names.slice(0, 5).join(', ');
  const rest = names.length > 5 ? ` and ${names.length - 5} more` : '';
  return (
    <p className="notice" role="status">
      {`${names.length === 1 ? 'One file of the folder is no picture' : `${names.length} files of the folder are no pictures`} of a kind that is read, and was passed over: ${some}${rest}.`}
    </p>
  );
}

type FootProps = {
  readonly intake: Intake;
  readonly count: number;
  readonly problem: string | null;
  readonly onAdd: () => void;
  readonly onClose: () => void;
};

function ImportFoot({ intake, count, problem, onAdd, onClose }: FootProps) {
  const { progress, adding } = intake;
  if (adding) return <JobLine />;
  return (
    <>
      {progress !== null && (
        <>
          <progress aria-label="Reading" max={progress.all} value={progress.done} />
          <p className="foot-note" role="status">{`Reading ${progress.done + 1} of ${progress.all}`}</p>
          <button type="button" className="button" onClick={intake.stop}>
            Stop
          </button>
        </>
      )}
      {problem !== null && (
        <p className="field-error" role="alert">
          {problem}
        </p>
      )}
      <button type="button" className="button" onClick={onClose}>
        Cancel
      </button>
      <button
        type="button"
        className="button button-main"
        disabled={count === 0 || progress !== null}
        onClick={onAdd}
      >
        {count > 1 ? `Add ${count} pictures` : 'Add picture'}
      </button>
    </>
  );
}

function FileChooser({ onFiles, many }: { onFiles: (files: readonly File[]) => void; many: boolean }) {
  const input = useRef<HTMLInputElement>(null);
  const folder = useRef<HTMLInputElement>(null);
  return (
    <div className={many ? 'chooser chooser-small' : 'chooser'}>
      <input
        ref={input}
        type="file"
        multiple
        accept="image/jpeg,image/png,image/tiff,image/webp"
        className="visually-hidden"
        aria-label="Picture files"
        tabIndex={-1}
        onChange={(event) => {
          onFiles([...(event.target.files ?? [])]);
          event.target.value = '';
        }}
      />
      <input
        ref={(element) => {
          folder.current = element;
          element?.setAttribute('webkitdirectory', '');
        }}
        type="file"
        multiple
        className="visually-hidden"
        aria-label="Folder of pictures"
        tabIndex={-1}
        onChange={(event) => {
          onFiles([...(event.target.files ?? [])]);
          event.target.value = '';
        }}
      />
      <button type="button" className="button button-main" onClick={() => input.current?.click()}>
        <Icon name="picture" />
        {many ? 'Choose more files' : 'Choose files'}
      </button>
      <button type="button" className="button" onClick={() => folder.current?.click()}>
        Choose a folder
      </button>
      <p className="hint">
        or drop files or a folder anywhere in this window, or paste a picture. JPEG, PNG, TIFF and WebP. Your
        files are copied and never altered; nothing is in the daybook before you add it, and then all of the
        list or, if it fails or you stop it, nothing.
      </p>
    </div>
  );
}
