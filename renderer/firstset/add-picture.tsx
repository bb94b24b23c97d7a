import { useState } from 'react';
import type { StylusPage } from '../../shared/index.ts';
import { DateFields } from '../importing/date-fields.tsx';
import { dateText, readDate, type DateText } from '../importing/dates.ts';
import { cardContext } from '../importing/intake.ts';
import { ScaleFields } from '../importing/scale-fields.tsx';
import { carryCandidates, NO_SCALE, readScale, type ScaleText } from '../importing/scale.ts';
import { useScaleCards, useShown } from '../scales/cards.ts';
import { useOnePicture } from '../scales/slide-intake.ts';
import { useModel } from '../state/use.ts';
import { TextField } from '../ui/fields.tsx';
import { OneFile } from '../ui/one-file.tsx';
import { waysToLook, type Step } from './steps.ts';

type AddProps = { readonly page: StylusPage; readonly step: Step; readonly onAdded: () => void };

/** One file for one step: view and light are the step's, the rest is asked; the picture is looked at as soon as it is in. */
export function AddStepPicture({ page, step, onAdded }: AddProps) {
  const { host, attempt, run, refresh, done } = useModel();
  const picture = useOnePicture();
  const cards = useScaleCards() ?? [];
  const last = page.captures.at(-1);
  const [microscope, setMicroscope] = useState(last?.microscope ?? '');
  const [scale, setScale] = useState<ScaleText>(NO_SCALE);
  const [tried, setTried] = useState(false);
  const { offer } = picture;
  // The date that the chosen file brings along, until a hand changes it.
  const [typed, setTyped] = useState<{ readonly token: string; readonly date: DateText } | null>(null);
  const token = offer?.token ?? '';
  const date = typed?.token === token ? typed.date : dateText(offer?.taken ?? null);
  const full = useShown(scale.way === 'two-points' ? picture.ref : null, 8192);
  const small = useShown(picture.ref, 480);
  const context = offer === null ? null : cardContext(cards, offer, microscope);
  const candidates = offer === null ? [] : carryCandidates([page], { ...offer, microscope });
  const readUm = readScale(scale, candidates, context);
  const readTaken = readDate(date);
  const other = offer?.guess?.view?.from === 'file-name' && offer.guess.view.value !== step.view;
  const add = async (): Promise<void> => {
    setTried(true);
    if (offer === null || readTaken.error !== null || readUm.error !== null) return;
    const capture = await attempt(() =>
      host.call('capture.add', {
        token: offer.token,
        stylusId: page.stylus.id,
        view: step.view,
        light: offer.guess?.light?.value ?? step.light,
        mirrored: last?.mirrored ?? null,
        taken: readTaken.taken,
        scale: readUm.scale,
        microscope: microscope.trim(),
        isBaseline: true,
        notes: '',
      }),
    );
    if (capture === null) return;
    picture.kept();
    picture.leave();
    await done(`The picture “${offer.fileName}” was added.`);
    await refresh();
    onAdded();
    for (const method of waysToLook(step.view))
      await run('Looking at the picture', (jobId) => host.call(method, { id: capture.id, jobId }));
    await refresh();
  };
  return (
    <div className="step-add">
      <OneFile
        label={offer === null ? `Choose the picture: ${step.name.toLowerCase()}` : 'Choose another file'}
        many={offer !== null}
        hint={
          picture.reading
            ? 'Reading…'
            : (offer?.fileName ?? 'or drop it here, or take it live with the microscope.')
        }
        onFile={picture.take}
      />
      {picture.problem !== null && (
        <p className="field-error" role="alert">
          {picture.problem}
        </p>
      )}
      {other && (
        <p className="notice">
          The file’s name speaks of another view. Make sure that it is this step’s picture.
        </p>
      )}
      {offer !== null && (
        <>
          {small !== null && small !== 'failed' && (
            <img className="step-chosen" src={small.url} alt={`Chosen: ${offer.fileName}`} />
          )}
          {offer.duplicateOf !== null && (
            <p className="notice">{`The same picture is already in the daybook, with “${offer.duplicateOf.stylusName}”.`}</p>
          )}
          <div className="form">
            <DateFields
              date={date}
              error={tried ? readTaken.error : null}
              onChange={(next) => setTyped({ token, date: next })}
            />
            <TextField
              label="Microscope"
              hint="Your name for it; needed for a scale card"
              maxLength={200}
              value={microscope}
              onChange={setMicroscope}
            />
            <ScaleFields
              text={scale}
              candidates={candidates}
              context={context}
              picture={
                full === null || full === 'failed'
                  ? null
                  : { url: full.url, widthPx: offer.widthPx, heightPx: offer.heightPx }
              }
              error={tried ? readUm.error : null}
              onChange={setScale}
            />
          </div>
          <p className="actions">
            <button type="button" className="button button-main" onClick={() => void add()}>
              Add it and look
            </button>
          </p>
        </>
      )}
    </div>
  );
}
