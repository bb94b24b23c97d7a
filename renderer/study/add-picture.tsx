import { useState } from 'react';
import type { Capture, Scale, StudyPage } from '../../shared/index.ts';
import { cardContext } from '../importing/intake.ts';
import { ScaleFields } from '../importing/scale-fields.tsx';
import { carryCandidates, formatScale, NO_SCALE, readScale, type ScaleText } from '../importing/scale.ts';
import { useScaleCards, useShown } from '../scales/cards.ts';
import { useOnePicture } from '../scales/slide-intake.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { TickField } from '../ui/fields.tsx';
import { OneFile } from '../ui/one-file.tsx';

type AddProps = { readonly data: StudyPage; readonly look: (capture: Capture) => Promise<void> };

/** One more picture of the sitting; all but the first take the scale of the one before, as nothing was touched. */
export function AddStudyPicture({ data, look }: AddProps) {
  const { host, attempt, refresh, done } = useModel();
  const page = useDaybook((state) => state.page);
  const picture = useOnePicture();
  const cards = useScaleCards() ?? [];
  const { study } = data.seen;
  const last = data.captures.at(-1);
  const [same, setSame] = useState(true);
  const [scale, setScale] = useState<ScaleText>(NO_SCALE);
  const [tried, setTried] = useState(false);
  const { offer } = picture;
  const fits =
    last !== undefined &&
    last.scale !== null &&
    (offer === null || (last.widthPx === offer.widthPx && last.heightPx === offer.heightPx));
  const asBefore = same && fits;
  const full = useShown(scale.way === 'two-points' && !asBefore ? picture.ref : null, 8192);
  const context = offer === null ? null : cardContext(cards, offer, study.microscope);
  const candidates =
    offer === null || page === null
      ? []
      : carryCandidates([page], { ...offer, microscope: study.microscope });
  const read = readScale(scale, candidates, context);
  const error = asBefore
    ? null
    : (read.error ?? (read.scale === null ? 'A study counts in µm: give the scale.' : null));
  const add = async (): Promise<void> => {
    setTried(true);
    if (offer === null || error !== null) return;
    const used: Scale | null = asBefore && last !== undefined ? last.scale : read.scale;
    const capture = await attempt(() =>
      host.call('capture.add', {
        token: offer.token,
        stylusId: study.stylusId,
        view: 'front',
        light: offer.guess?.light?.value ?? last?.light ?? 'unknown',
        mirrored: last?.mirrored ?? null,
        taken: offer.taken ?? { wall: study.day, offset: null, source: 'person' },
        scale: used,
        microscope: study.microscope,
        isBaseline: false,
        notes: '',
        studyId: study.id,
      }),
    );
    if (capture === null) return;
    picture.kept();
    picture.leave();
    setTried(false);
    await done(`The picture “${offer.fileName}” is in the study.`);
    await refresh();
    await look(capture);
  };
  return (
    <div className="step-add">
      <OneFile
        label={offer === null ? 'Choose the next picture' : 'Choose another file'}
        many={offer !== null}
        hint={picture.reading ? 'Reading…' : (offer?.fileName ?? 'or drop or paste it here')}
        onFile={picture.take}
        pastes
      />
      {picture.problem !== null && (
        <p className="field-error" role="alert">
          {picture.problem}
        </p>
      )}
      {offer !== null && (
        <>
          {last?.scale && fits && (
            <TickField
              label={`Same scale as the picture before, ${formatScale(last.scale)}: zoom and focus were not touched`}
              checked={same}
              onChange={setSame}
            />
          )}
          {last?.scale && !fits && (
            <p className="notice">
              This picture has another size than the one before, so its scale has to be given anew. A study
              needs the same setting throughout.
            </p>
          )}
          {!asBefore && (
            <ScaleFields
              text={scale}
              candidates={candidates}
              context={context}
              picture={
                full === null || full === 'failed'
                  ? null
                  : { url: full.url, widthPx: offer.widthPx, heightPx: offer.heightPx }
              }
              error={tried ? error : null}
              onChange={setScale}
            />
          )}
          <button type="button" className="button button-main" onClick={() => void add()}>
            Add it and read
          </button>
        </>
      )}
    </div>
  );
}
