import { useState } from 'react';
import type { Capture, StylusPage } from '../../shared/index.ts';
import { formatDated } from '../format.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { Picture } from '../ui/bits.tsx';
import { DialogFrame } from '../ui/dialog.tsx';
import { ChoiceField } from '../ui/fields.tsx';
import { VIEW_SHORT } from '../words.ts';
import { baselineFor, comparisonOf, hasOutline } from './captures.ts';

const named = (capture: Capture): string =>
  `${formatDated(capture.taken)}, ${VIEW_SHORT[capture.view]}${capture.isBaseline ? ', baseline' : ''}`;

/** Chooses the pair; the bench shows it at once and the measuring runs there, with progress. */
export function CompareDialog({ page }: { readonly page: StylusPage }) {
  const { open, go, compare } = useModel();
  const last = likeliest(page);
  const [laterId, setLaterId] = useState((last ?? page.captures.at(-1))?.id ?? '');
  const later = page.captures.find((capture) => capture.id === laterId) ?? null;
  const cards = useDaybook((state) => state.cards) ?? [];
  const own = later === null ? null : baselineFor(page, later);
  const standIn = page.siblings.find((capture) => capture.view === later?.view) ?? null;
  const suggested = own ?? standIn ?? page.captures[0] ?? null;
  const [chosenId, setChosenId] = useState<string | null>(null);
  const baselineId = chosenId ?? suggested?.id ?? '';
  const baseline = [...page.captures, ...page.siblings].find((capture) => capture.id === baselineId) ?? null;
  const sibling = baseline !== null && baseline.stylusId !== page.stylus.id;
  const wrong = pairProblem(baseline, later);
  const choices = page.captures.map((capture) => ({ value: capture.id, label: named(capture) }));
  const baselines = [
    ...choices,
    ...page.siblings.map((capture) => ({
      value: capture.id,
      label: `unworn sibling “${cards.find(({ stylus }) => stylus.id === capture.stylusId)?.stylus.name ?? 'in the bin'}”, ${named(capture)}`,
    })),
  ];
  const start = (): void => {
    if (baseline === null || later === null) return;
    open(null);
    go({ screen: 'bench', stylusId: page.stylus.id, baselineId, laterId });
    void compare(baselineId, laterId);
  };
  return (
    <DialogFrame
      title="Compare two pictures"
      fleeting
      onClose={() => open(null)}
      foot={
        <>
          <button type="button" className="button" onClick={() => open(null)}>
            Cancel
          </button>
          <button type="button" className="button button-main" disabled={wrong !== null} onClick={start}>
            Lay over and measure
          </button>
        </>
      }
    >
      {page.captures.length + page.siblings.length < 2 ? (
        <p>Two pictures of this stylus are needed. Add a later one first.</p>
      ) : (
        <div className="form">
          <div className="field">
            <ChoiceField label="Baseline" value={baselineId} choices={baselines} onChange={setChosenId} />
            <Picture captureId={baselineId} edge={480} alt="Baseline picture" />
          </div>
          <div className="field">
            <ChoiceField label="Later picture" value={laterId} choices={choices} onChange={setLaterId} />
            <Picture captureId={laterId} edge={480} alt="Later picture" />
          </div>
          {sibling && (
            <p className="notice field-wide">
              This baseline shows another stylus of the same type. How much two of a type differ goes into
              every uncertainty (tip radii: 0.5 µm, one standard deviation; an assumption, no source), so that
              only large flats can be told.
            </p>
          )}
          {wrong !== null && <p className="field-error field-wide">{wrong}</p>}
        </div>
      )}
    </DialogFrame>
  );
}

/** The newest picture that can be compared and was not yet, else the newest that can be. */
function likeliest(page: StylusPage): Capture | null {
  const able = page.captures.filter(
    (capture) => hasOutline(capture.view) && baselineFor(page, capture) !== null,
  );
  const open = able.filter((capture) => {
    const baseline = baselineFor(page, capture);
    return baseline !== null && comparisonOf(page, baseline.id, capture.id) === null;
  });
  const rank = (list: Capture[]): Capture | undefined =>
    list.findLast((capture) => capture.view === 'front') ?? list.at(-1);
  return rank(open) ?? rank(able) ?? null;
}

function pairProblem(baseline: Capture | null, later: Capture | null): string | null {
  if (baseline === null || later === null) return 'Choose two pictures.';
  if (baseline.id === later.id) return 'Choose two different pictures.';
  if (!hasOutline(later.view))
    return 'Only front and side views have an outline to compare. Other views open beside their baseline from the stylus page.';
  if (baseline.view !== later.view) return 'Both pictures must show the same view of the stylus.';
  return null;
}
