import { useEffect, useRef, useState } from 'react';
import { useModel } from '../state/use.ts';
import { Cautions } from '../ui/bits.tsx';
import { DialogFrame } from '../ui/dialog.tsx';
import { Icon } from '../ui/icons.tsx';
import { CAUTIONS } from '../words.ts';
import { readRow, spreadFirst } from './intake.ts';
import { IntakeRowView } from './row.tsx';
import { useIntake, type Intake } from './use-intake.ts';

type ImportProps = { readonly stylusId: string | null; readonly files: readonly File[] };

export function ImportDialog({ stylusId, files }: ImportProps) {
  const { open, go } = useModel();
  const intake = useIntake(stylusId);
  const [tried, setTried] = useState(false);
  useDroppedFiles(files, intake.take);
  const finish = useFinish(() => open(null), go);
  const ready = intake.rows.filter((row) => row.status === 'ready');
  const complete = ready.filter((row) => readRow(row, intake.pages, intake.cards).input !== null);
  const add = async (): Promise<void> => {
    setTried(true);
    if (complete.length < ready.length) return;
    const owners = new Set(ready.map((row) => row.answers.stylusId));
    const added = await intake.add();
    await finish(added, owners);
  };
  return (
    <DialogFrame
      title="Add pictures"
      wide
      onClose={() => open(null)}
      foot={
        <ImportFoot
          intake={intake}
          count={ready.length}
          incomplete={tried ? ready.length - complete.length : 0}
          onAdd={() => void add()}
        />
      }
    >
      <Cautions
        title="Before you touch the stylus"
        lines={CAUTIONS.handling}
        open={intake.rows.length === 0}
      />
      <FileChooser onFiles={intake.take} many={intake.rows.length > 0} />
      {intake.rows.length > 1 && (
        <p className="actions">
          <button type="button" className="button" onClick={() => intake.replace(spreadFirst(intake.rows))}>
            Give the first row’s answers to all
          </button>
        </p>
      )}
      <ul className="intake" aria-label="Files">
        {intake.rows.map((row) => (
          <IntakeRowView key={row.key} row={row} intake={intake} tried={tried} />
        ))}
      </ul>
    </DialogFrame>
  );
}

/** Files dropped or pasted before or while the dialog is open; each is taken once. */
function useDroppedFiles(files: readonly File[], take: Intake['take']): void {
  const seen = useRef(new WeakSet<File>());
  useEffect(() => {
    const fresh = files.filter((file) => !seen.current.has(file));
    fresh.forEach((file) => seen.current.add(file));
    if (fresh.length > 0) take(fresh);
    // `take` is new on every render; only new files matter here.
    // oxlint-disable-next-line react/exhaustive-deps
  }, [files]);
}

function useFinish(close: () => void, go: ReturnType<typeof useModel>['go']) {
  const { store, done, refresh } = useModel();
  return async (added: readonly string[], owners: ReadonlySet<string>): Promise<void> => {
    if (added.length === 0) return;
    const what = added.length === 1 ? 'One picture' : `${added.length} pictures`;
    await done(`${what} added to the daybook.`);
    await refresh();
    // Rows that were refused or not answered keep the dialog open.
    if (store.getState().dialog?.kind !== 'import') return;
    const [owner] = owners;
    close();
    if (owners.size === 1) go({ screen: 'stylus', stylusId: owner });
  };
}

type FootProps = {
  readonly intake: Intake;
  readonly count: number;
  readonly incomplete: number;
  readonly onAdd: () => void;
};

function ImportFoot({ intake, count, incomplete, onAdd }: FootProps) {
  const { open } = useModel();
  const { progress } = intake;
  if (progress !== null)
    return (
      <>
        <progress aria-label={progress.what} max={progress.all} value={progress.done} />
        <p
          className="foot-note"
          role="status"
        >{`${progress.what} ${progress.done + 1} of ${progress.all}`}</p>
        <button type="button" className="button" onClick={intake.stop}>
          Stop
        </button>
      </>
    );
  return (
    <>
      {incomplete > 0 && (
        <p className="field-error" role="alert">
          {incomplete === 1
            ? 'One picture still has a question.'
            : `${incomplete} pictures still have questions.`}
        </p>
      )}
      <button type="button" className="button" onClick={() => open(null)}>
        Cancel
      </button>
      <button type="button" className="button button-main" disabled={count === 0} onClick={onAdd}>
        {count > 1 ? `Add ${count} pictures` : 'Add picture'}
      </button>
    </>
  );
}

function FileChooser({ onFiles, many }: { onFiles: (files: readonly File[]) => void; many: boolean }) {
  const input = useRef<HTMLInputElement>(null);
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
      <button type="button" className="button button-main" onClick={() => input.current?.click()}>
        <Icon name="picture" />
        {many ? 'Choose more files' : 'Choose files'}
      </button>
      <p className="hint">
        or drop them anywhere in this window, or paste a picture. JPEG, PNG, TIFF and WebP. Your files are
        copied and never altered.
      </p>
    </div>
  );
}
