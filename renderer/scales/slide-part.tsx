import { useState } from 'react';
import type { InputOf, PictureRef, SlideAnswer } from '../../shared/index.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { NumberField } from '../ui/fields.tsx';
import { OneFile } from '../ui/one-file.tsx';
import { Refused } from '../ui/bits.tsx';
import { PITCHES, readPitch, type CardText } from './card-form.ts';
import { SlidePicture, SlideValues } from './slide-view.tsx';
import { useOnePicture } from './slide-intake.ts';

type SlidePartProps = {
  readonly text: CardText;
  readonly set: (change: Partial<CardText>) => void;
  readonly picture: PictureRef | null;
  readonly slide: SlideAnswer | null;
  /** False for a card that is kept already: what was found stays as it was found. */
  readonly measurable: boolean;
  readonly error: string | undefined;
  readonly onSlide: (slide: SlideAnswer | null) => void;
};

/** Pitch, the button that finds the lines, and what was found. */
export function SlidePart(props: SlidePartProps) {
  const { text, set, picture, slide, measurable, error, onSlide } = props;
  const { host, run } = useModel();
  const busy = useDaybook((state) => Object.keys(state.jobs).length > 0);
  const [refusal, setRefusal] = useState<{ readonly name: string; readonly sentence: string } | null>(null);
  const name = JSON.stringify(picture);
  const refused = refusal?.name === name ? refusal.sentence : null;
  const setRefused = (sentence: string | null): void =>
    setRefusal(sentence === null ? null : { name, sentence });
  const [tried, setTried] = useState(false);
  const turned = useOnePicture();
  const pitch = readPitch(text);
  const measure = async (of: PictureRef, against: InputOf<'scale.measure'>['against']) => {
    if (pitch.pitchUm === null) return null;
    const { pitchUm, relative } = pitch;
    return run('Finding the lines of the slide', (jobId) =>
      host.call('scale.measure', {
        picture: of,
        pitchUm,
        pitchRelativeStandard: relative,
        against,
        jobId,
      }),
    );
  };
  const find = async (): Promise<void> => {
    setTried(true);
    if (picture === null || pitch.error !== null) return;
    setRefused(null);
    onSlide(null);
    let against: InputOf<'scale.measure'>['against'] = null;
    if (turned.ref !== null) {
      const other = await measure(turned.ref, null);
      if (other === null) return;
      if (!other.ok) return setRefused(`The turned picture: ${other.reason.message}`);
      against = {
        umPerPx: other.scaleUmPerPx.value,
        standardUmPerPx: other.standardUmPerPx,
        acrossDeg: other.acrossDeg,
      };
    }
    const report = await measure(picture, against);
    if (report === null) return;
    if (report.ok) onSlide(report);
    else setRefused(report.reason.message);
  };
  const change = (part: Partial<CardText>): void => {
    onSlide(null);
    set(part);
  };
  return (
    <section className="slide-part" aria-label="Ruled slide">
      {measurable && (
        <>
          <div className="form">
            <NumberField
              label="From one line to the next"
              suffix="µm"
              hint="as stated on the slide"
              value={text.pitch}
              error={tried ? pitch.error : null}
              onChange={(value) => change({ pitch: value })}
            />
            <NumberField
              label="Accuracy of the slide, ±"
              suffix="%"
              hint="95 %; empty: 0.04 % is assumed and said"
              value={text.accuracy}
              onChange={(accuracy) => change({ accuracy })}
            />
          </div>
          <div className="actions" role="group" aria-label="Common rulings">
            {PITCHES.map((um) => (
              <button
                key={um}
                type="button"
                className="chip"
                aria-pressed={text.pitch === String(um)}
                onClick={() => change({ pitch: String(um) })}
              >
                {um === 1000 ? '1\u00a0mm' : `${um}\u00a0µm`}
              </button>
            ))}
          </div>
          <details className="turned">
            <summary>A second picture of the slide, turned, to see whether the pixels are square</summary>
            <OneFile
              label={turned.offer === null ? 'Choose the turned picture' : 'Choose another'}
              many
              hint={
                turned.problem ??
                turned.offer?.fileName ??
                'Turn the slide by about a quarter, nothing else. It is measured and not kept.'
              }
              onFile={(file) => {
                onSlide(null);
                turned.take(file);
              }}
            />
          </details>
          <div className="actions">
            <button
              type="button"
              className="button button-main"
              disabled={picture === null || busy}
              onClick={() => void find()}
            >
              Find the lines
            </button>
            {error !== undefined && slide === null && <p className="field-error">{error}</p>}
          </div>
        </>
      )}
      {refused !== null && <Refused sentence={refused} />}
      {picture !== null && (
        <div className="slide-view">
          <SlidePicture picture={picture} report={slide} />
          {slide !== null && <SlideValues report={slide} />}
        </div>
      )}
    </section>
  );
}
