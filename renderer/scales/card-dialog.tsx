import { useEffect, useRef, useState } from 'react';
import type { PictureRef, ScaleCard, SlideAnswer } from '../../shared/index.ts';
import { dateText } from '../importing/dates.ts';
import { DateFields } from '../importing/date-fields.tsx';
import { Distance, Typed } from '../importing/scale-fields.tsx';
import { TwoPoints } from '../importing/two-points.tsx';
import { useDaybook, useModel } from '../state/use.ts';
import { Cautions } from '../ui/bits.tsx';
import { DialogFrame } from '../ui/dialog.tsx';
import { ChoiceField, LongField, NumberField, TextField } from '../ui/fields.tsx';
import { OneFile } from '../ui/one-file.tsx';
import { readCard, startText, type CardErrors, type CardText, type CardWay } from './card-form.ts';
import { useScaleCards, useShown } from './cards.ts';
import { JobLine } from './job-line.tsx';
import { SlidePart } from './slide-part.tsx';
import { useOnePicture, type OnePicture } from './slide-intake.ts';

const WAYS = [
  { value: 'ruled-slide', label: 'A ruled slide' },
  { value: 'two-points', label: 'Two points of known distance' },
  { value: 'typed', label: 'Typed in, µm per pixel' },
] as const;

type CardDialogProps = {
  readonly card: ScaleCard | null;
  readonly captureId: string | null;
  /** A picture to begin with, when it is opened over another dialog. */
  readonly file?: File;
  readonly onClose?: (kept: boolean) => void;
};

/** Makes a scale card, or corrects one. */
export function CardDialog({ card, captureId, file, onClose }: CardDialogProps) {
  const page = useDaybook((state) => state.page);
  const capture = page?.captures.find((one) => one.id === captureId) ?? null;
  const { host, attempt, open, bin, done, go, store } = useModel();
  const [text, setText] = useState<CardText>(() => startText(card, capture));
  const [found, setFound] = useState<Found>({ name: '', slide: card?.slide ?? null });
  const [tried, setTried] = useState(false);
  const start: PictureRef | null = capture === null ? null : { captureId: capture.id };
  const picture = useOnePicture(start);
  // What was found in another picture is not true of this one.
  const name = nameOf(picture.ref);
  const slide = found.name === name ? found.slide : null;
  const close = (kept: boolean): void => (onClose === undefined ? open(null) : onClose(kept));
  useFirstFile(file, picture);
  const set = (change: Partial<CardText>): void => setText((old) => ({ ...old, ...change }));
  useFoundDate(picture, set);
  const frame = frameOf(card, capture, picture);
  const read = readCard(text, { card, slide: text.way === 'ruled-slide' ? slide : null, frame });
  const save = async (): Promise<void> => {
    setTried(true);
    if (read.draft === null) return;
    const { draft } = read;
    const kept = text.way === 'ruled-slide' ? slide : null;
    const saved = await attempt(() =>
      card === null
        ? host.call('scale.keep', { draft, picture: picture.ref, slide: kept })
        : host.call('scale.change', { id: card.id, draft }),
    );
    if (saved === null) return;
    picture.kept();
    close(true);
    if (card === null) await done('The scale card was kept.');
    if (onClose === undefined && store.getState().route.screen === 'shelf') go({ screen: 'scales' });
  };
  return (
    <DialogFrame
      title={card === null ? 'New scale card' : `Scale card: ${card.microscope}`}
      wide
      onClose={() => close(false)}
      foot={
        <>
          <JobLine />
          {card !== null && (
            <button
              type="button"
              className="button foot-start"
              onClick={() => {
                open(null);
                void bin('scale-card', card.id, `The scale card “${card.microscope}”`);
              }}
            >
              Put into the bin
            </button>
          )}
          <button type="button" className="button" onClick={() => close(false)}>
            Cancel
          </button>
          <button type="button" className="button button-main" onClick={() => void save()}>
            {card === null ? 'Keep the card' : 'Save'}
          </button>
        </>
      }
    >
      <CardHelp open={card === null && picture.ref === null} />
      {card === null && (
        <ChoiceField
          label="The scale is taken from"
          value={text.way}
          choices={WAYS}
          onChange={(way: CardWay) =>
            set({ way, points: { ...text.points, way: way === 'typed' ? 'typed' : 'two-points' } })
          }
        />
      )}
      {card === null && (
        <ChoosePicture
          picture={picture}
          fromCapture={capture?.fileName ?? null}
          error={tried ? read.errors.picture : undefined}
        />
      )}
      {text.way === 'ruled-slide' && (
        <SlidePart
          text={text}
          set={set}
          picture={card === null ? picture.ref : card.picture === null ? null : { cardId: card.id }}
          slide={slide}
          measurable={card === null}
          error={tried ? read.errors.scale : undefined}
          onSlide={(next) => setFound({ name, slide: next })}
        />
      )}
      {text.way !== 'ruled-slide' && (
        <OtherWays
          text={text}
          set={set}
          picture={picture}
          frame={frame}
          card={card}
          error={tried ? read.errors.scale : undefined}
        />
      )}
      <SettingFields text={text} set={set} errors={tried ? read.errors : {}} />
    </DialogFrame>
  );
}

function useFirstFile(file: File | undefined, picture: OnePicture): void {
  const taken = useRef<File | null>(null);
  useEffect(() => {
    if (file === undefined || taken.current === file) return;
    taken.current = file;
    picture.take(file);
  }, [file, picture]);
}

/** The date that the chosen file brings along. */
function useFoundDate(picture: OnePicture, set: (change: Partial<CardText>) => void): void {
  const { offer } = picture;
  useEffect(() => {
    if (offer !== null) set({ date: dateText(offer.taken) });
    // `set` is new on every render; only a new file matters here.
    // oxlint-disable-next-line react/exhaustive-deps
  }, [offer]);
}

type Found = { readonly name: string; readonly slide: SlideAnswer | null };
const nameOf = (ref: PictureRef | null): string => (ref === null ? '' : JSON.stringify(ref));

type Frame = { readonly widthPx: number; readonly heightPx: number };
function frameOf(card: ScaleCard | null, capture: Frame | null, picture: OnePicture): Frame | null {
  if (card !== null) return { widthPx: card.frameWidthPx, heightPx: card.frameHeightPx };
  if (picture.offer !== null) return picture.offer;
  return picture.ref === null ? null : capture;
}

function CardHelp({ open }: { readonly open: boolean }) {
  return (
    <Cautions
      title="How to take the picture of the slide"
      open={open}
      lines={[
        'Take the stylus away from the microscope first; the slide must not touch the tip, nor the barrel the slide.',
        'Set zoom and focus as for the stylus, at the largest frame size. Then bring the lines into focus by moving the slide, not by turning the wheel: focus changes the scale.',
        'Fill the picture with lines, square to the sight line, light from behind. Hold the slide by its edges; glass edges are sharp.',
        'Take the stylus right afterwards, without touching zoom, focus or frame size.',
      ]}
    />
  );
}

function ChoosePicture(props: {
  readonly picture: OnePicture;
  readonly fromCapture: string | null;
  readonly error: string | undefined;
}) {
  const { picture, fromCapture, error } = props;
  const name = picture.offer?.fileName ?? (picture.ref === null ? null : fromCapture);
  return (
    <>
      <OneFile
        label={name === null ? 'Choose the picture' : 'Choose another picture'}
        many={name !== null}
        hint={
          picture.reading
            ? 'Reading…'
            : (name ??
              'or drop it here, or paste it. It is kept with the card as an original and never altered.')
        }
        onFile={picture.take}
        pastes
      />
      {picture.problem !== null && (
        <p className="field-error" role="alert">
          {picture.problem}
        </p>
      )}
      {error !== undefined && picture.problem === null && <p className="field-error">{error}</p>}
    </>
  );
}

type PartProps = {
  readonly text: CardText;
  readonly set: (change: Partial<CardText>) => void;
};

function OtherWays(
  props: PartProps & {
    readonly picture: OnePicture;
    readonly frame: Frame | null;
    readonly card: ScaleCard | null;
    readonly error: string | undefined;
  },
) {
  const { text, set, picture, frame, card, error } = props;
  const shown = useShown(picture.ref, 8192);
  const points = (change: Partial<CardText['points']>): void =>
    set({ points: { ...text.points, ...change } });
  if (text.way === 'two-points' && card === null)
    return shown === null || shown === 'failed' || frame === null ? null : (
      <div className="scale-fields">
        <TwoPoints
          picture={{ url: shown.url, widthPx: frame.widthPx, heightPx: frame.heightPx }}
          first={text.points.first}
          second={text.points.second}
          onChange={(first, second) => points({ first, second })}
        />
        <Distance text={text.points} set={points} error={error ?? null} />
      </div>
    );
  return (
    <div className="form">
      <Typed text={text.points} set={points} error={error ?? null} />
    </div>
  );
}

function SettingFields({ text, set, errors }: PartProps & { readonly errors: CardErrors }) {
  const cards = useScaleCards() ?? [];
  const names = [...new Set(cards.map((card) => card.microscope))];
  return (
    <fieldset className="form card-setting">
      <legend>What the scale belongs to</legend>
      <TextField
        label="Microscope"
        hint="Your name for it, the same as at its pictures"
        list="known-microscopes"
        maxLength={200}
        value={text.microscope}
        error={errors.microscope}
        onChange={(microscope) => set({ microscope })}
      />
      <datalist id="known-microscopes">
        {names.map((name) => (
          <option key={name} value={name}>
            {name}
          </option>
        ))}
      </datalist>
      <NumberField
        label="Zoom"
        hint="as on the wheel or as the camera says; empty if not known"
        value={text.zoom}
        error={errors.zoom}
        onChange={(zoom) => set({ zoom })}
      />
      <NumberField
        label="Focus"
        hint="likewise"
        value={text.focus}
        error={errors.focus}
        onChange={(focus) => set({ focus })}
      />
      <DateFields date={text.date} error={errors.date ?? null} onChange={(date) => set({ date })} />
      <LongField label="Notes" wide value={text.notes} onChange={(notes) => set({ notes })} />
    </fieldset>
  );
}
