import { useState } from 'react';
import type { Capture, StylusPage } from '../../shared/index.ts';
import { ScaleAlarm } from '../scales/scale-alarm.tsx';
import { useScaleCards } from '../scales/cards.ts';
import { usePicture } from '../state/pictures.ts';
import { useModel } from '../state/use.ts';
import { DialogFrame } from '../ui/dialog.tsx';
import { ChoiceField, LongField, TextField, TickField } from '../ui/fields.tsx';
import { dateText, readDate } from './dates.ts';
import { LIGHTS, MIRRORED, mirroredText, VIEWS } from './choices.ts';
import { DateFields } from './date-fields.tsx';
import { ScaleFields } from './scale-fields.tsx';
import { carryCandidates, formatScale, readScale, SCALE_SOURCE, scaleText, type ScaleText } from './scale.ts';

/** What is known about a picture, to be corrected. The picture itself never changes. */
export function CaptureDialog({
  capture,
  page,
}: {
  readonly capture: Capture;
  readonly page: StylusPage | null;
}) {
  const { host, attempt, open, bin, refresh } = useModel();
  const { picture } = usePicture(capture.id, 4096);
  const [view, setView] = useState(capture.view);
  const [light, setLight] = useState(capture.light);
  const [mirrored, setMirrored] = useState(mirroredText(capture.mirrored));
  const [date, setDate] = useState(() => ({ ...dateText(capture.taken), unknown: capture.taken === null }));
  const [microscope, setMicroscope] = useState(capture.microscope);
  const [isBaseline, setBaseline] = useState(capture.isBaseline);
  const [notes, setNotes] = useState(capture.notes);
  const [scale, setScale] = useState<ScaleText | null>(null);
  const [tried, setTried] = useState(false);
  const others = page === null ? [] : [page];
  const candidates = carryCandidates(others, { ...capture, microscope }).filter(
    (one) => one.id !== capture.id,
  );
  const cards = useScaleCards() ?? [];
  const { widthPx, heightPx, camera } = capture;
  const context = { cards, wants: { microscope, widthPx, heightPx, camera } };
  // A scale that was taken away is kept by the host: it comes back when the card belongs here again.
  const stored = capture.scale ?? capture.heldBackScale?.scale ?? null;
  const readTaken = readDate(date);
  // An untouched scale keeps its origin and every digit.
  const readUm = scale === null ? { scale: stored, error: null } : readScale(scale, candidates, context);
  const save = async (): Promise<void> => {
    setTried(true);
    if (readTaken.error !== null || readUm.error !== null) return;
    const saved = await attempt(() =>
      host.call('capture.update', {
        id: capture.id,
        view,
        light,
        mirrored: mirrored === 'unknown' ? null : mirrored === 'yes',
        taken: readTaken.taken,
        scale: readUm.scale,
        microscope: microscope.trim(),
        isBaseline,
        notes: notes.trim(),
      }),
    );
    if (saved === null) return;
    open(null);
    await refresh();
  };
  return (
    <DialogFrame
      title={`Picture: ${capture.fileName}`}
      wide
      onClose={() => open(null)}
      foot={
        <>
          <button
            type="button"
            className="button foot-start"
            onClick={() => {
              open(null);
              void bin('capture', capture.id, 'The picture');
            }}
          >
            Put into the bin
          </button>
          <button type="button" className="button" onClick={() => open(null)}>
            Cancel
          </button>
          <button type="button" className="button button-main" onClick={() => void save()}>
            Save
          </button>
        </>
      }
    >
      <div className="form">
        <ChoiceField label="View" value={view} choices={VIEWS} onChange={setView} />
        <ChoiceField label="Light" value={light} choices={LIGHTS} onChange={setLight} />
        <ChoiceField
          label="Mirrored by the camera?"
          value={mirrored}
          choices={MIRRORED}
          onChange={setMirrored}
        />
        <DateFields date={date} error={tried ? readTaken.error : null} onChange={setDate} />
        <TextField label="Microscope" maxLength={200} value={microscope} onChange={setMicroscope} />
        <TickField label="This is the baseline of its view" checked={isBaseline} onChange={setBaseline} />
        {scale === null && capture.heldBackScale && <ScaleAlarm sentence={capture.heldBackScale.reason} />}
        {scale === null ? (
          <div className="field-wide kept-scale">
            <span>
              {`Scale: ${formatScale(capture.scale)}`}
              {capture.scale === null ? '' : `, ${SCALE_SOURCE[capture.scale.source]}`}
            </span>
            <button type="button" className="button" onClick={() => setScale(scaleText(stored))}>
              Change the scale
            </button>
          </div>
        ) : (
          <ScaleFields
            text={scale}
            candidates={candidates}
            context={context}
            picture={
              picture === null
                ? null
                : { url: picture.url, widthPx: capture.widthPx, heightPx: capture.heightPx }
            }
            error={tried ? readUm.error : null}
            onChange={setScale}
          />
        )}
        <LongField label="Notes" wide value={notes} onChange={setNotes} />
      </div>
    </DialogFrame>
  );
}
