import type { Capture, OfferPage } from '../../shared/index.ts';
import { formatDated, formatFlat, formatMeasured, lengthUnit } from '../format.ts';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { Cautions, Picture } from '../ui/bits.tsx';
import { Icon } from '../ui/icons.tsx';
import { CAUTIONS, SUSPICION_WORDS, VIEW_WORDS } from '../words.ts';

/** Pictures of a stylus nobody knows: examined one by one, left against right, and the cantilever. */
export function OfferPictures({ page }: { readonly page: OfferPage }) {
  const { open } = useModel();
  const { stylusId } = page.offer;
  return (
    <>
      <Cautions title="At the stylus" lines={CAUTIONS.handling} open={page.captures.length === 0} />
      <p className="hint">
        One picture from the front, against the light, and one from the side. Without an earlier picture only
        left against right, the cantilever and damage can be judged; how fast it wears cannot. Measuring wants
        a scale: the card of your microscope at these settings, or two points of known distance.
      </p>
      <button type="button" className="button" onClick={() => open({ kind: 'import', stylusId, files: [] })}>
        <Icon name="picture" />
        Add pictures
      </button>
      <ul className="strip offer-strip" aria-label="Pictures">
        {page.captures.map((capture) => (
          <PictureRow key={capture.id} capture={capture} />
        ))}
      </ul>
      {page.captures.length > 0 && (
        <p>
          <a href={writeRoute({ screen: 'stylus', stylusId })}>
            Open this stylus: marks, all measurements, timeline
          </a>
        </p>
      )}
    </>
  );
}

function PictureRow({ capture }: { readonly capture: Capture }) {
  const { host, run, refresh } = useModel();
  const fromSide = capture.view !== 'front' && capture.view !== 'end-on';
  const measure = async (what: 'capture.examine' | 'capture.cantilever'): Promise<void> => {
    const title = what === 'capture.examine' ? 'Examining the picture' : 'Measuring the cantilever';
    if ((await run(title, (jobId) => host.call(what, { id: capture.id, jobId }))) !== null) await refresh();
  };
  return (
    <li className="strip-item">
      <a
        className="strip-link"
        href={writeRoute({ screen: 'look', stylusId: capture.stylusId, captureId: capture.id })}
      >
        <Picture captureId={capture.id} edge={480} alt="" />
        <span className="strip-date">{VIEW_WORDS[capture.view]}</span>
      </a>
      <p className="hint">{formatDated(capture.taken)}</p>
      <Found capture={capture} />
      <div className="actions strip-state">
        {!fromSide && (
          <button type="button" className="button" onClick={() => void measure('capture.examine')}>
            {capture.examination === null ? 'Examine' : 'Examine again'}
          </button>
        )}
        {fromSide && (
          <button type="button" className="button" onClick={() => void measure('capture.cantilever')}>
            {capture.cantilever === null ? 'Measure the cantilever' : 'Measure again'}
          </button>
        )}
      </div>
    </li>
  );
}

function Found({ capture }: { readonly capture: Capture }) {
  const unit = useDaybook((state) => state.settings.unit);
  const lines: string[] = [];
  const { examination, cantilever } = capture;
  if (examination?.ok) {
    const shown = lengthUnit(unit, examination.unit ?? 'um');
    const { flats } = examination;
    if (flats)
      for (const side of ['left', 'right'] as const) {
        const { widthUm, detected, detectionLimitUm } = flats[side];
        lines.push(`Flat ${side}: ${formatFlat(widthUm, detected, detectionLimitUm, shown)}`);
      }
    lines.push(
      ...examination.suspicions.map((one) => `Suspected: ${SUSPICION_WORDS[one.kind].toLowerCase()}`),
    );
  } else if (examination) lines.push(examination.reason.message);
  if (cantilever?.ok) {
    const bend = cantilever.cantilever.bendAngleDeg;
    lines.push(`Bend of the cantilever: ${formatMeasured(bend, { factor: 1, symbol: '°' })}`);
    lines.push(
      ...cantilever.suspicions.map((one) => `Suspected: ${SUSPICION_WORDS[one.kind].toLowerCase()}`),
    );
  } else if (cantilever) lines.push(cantilever.reason.message);
  return lines.map((line) => (
    <p key={line} className="hint">
      {line}
    </p>
  ));
}
