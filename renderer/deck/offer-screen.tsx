import { useCallback, useEffect, useRef, useState } from 'react';
import type { OfferDraft, OfferPage } from '../../shared/index.ts';
import { save, safeName } from '../save.ts';
import { useFresh } from '../listening/use-listening.ts';
import { SheetPreview, useMadeSheet } from '../sheet/preview.tsx';
import { useDaybook, useModel } from '../state/use.ts';
import { NotThere } from '../stylus/stylus-page.tsx';
import { dayError } from '../ui/day.ts';
import { Cautions, Crumb, ScreenTitle } from '../ui/bits.tsx';
import { ChoiceField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { CAUTIONS } from '../words.ts';
import { draftOf } from './offer-form.ts';
import { Basics, Costs, DeckWalk, Statements } from './offer-parts.tsx';
import { OfferPictures } from './offer-pictures.tsx';

const SAVE_AFTER_MS = 400;

export function OfferScreen({ offerId }: { readonly offerId: string }) {
  const { host, attempt } = useModel();
  const [page, setPage] = useState<OfferPage | null>(null);
  const [gone, setGone] = useState(false);
  useFresh(
    async () => {
      const found = await attempt(() => host.call('offer.page', { id: offerId }));
      setGone(found === null);
      return found;
    },
    setPage,
    [offerId],
  );
  if (page === null)
    return gone ? (
      <NotThere sentence="That turntable is not in the collection." />
    ) : (
      <p className="waiting">Opening…</p>
    );
  return <OfferBody page={page} />;
}

type Waiting = { readonly draft: OfferDraft; readonly timer: ReturnType<typeof setTimeout> };

/** Saved while it is filled in; one visit is one step of undo. */
function useSaved(page: OfferPage): readonly [OfferDraft, (change: Partial<OfferDraft>) => void] {
  const { host, attempt } = useModel();
  const { id } = page.offer;
  const arrived = JSON.stringify(draftOf(page.offer));
  const [draft, setDraft] = useState<OfferDraft>(() => draftOf(page.offer));
  const [gesture] = useState(() => `offer-${id.slice(0, 12)}-${Date.now().toString(36)}`);
  const waiting = useRef<Waiting | null>(null);
  const stored = useRef(arrived);
  const write = useCallback(async (): Promise<void> => {
    const next = waiting.current;
    if (next === null) return;
    clearTimeout(next.timer);
    waiting.current = null;
    // An empty title is being typed over; the old one stays until there is another.
    if (next.draft.title.trim() === '' || dayError(next.draft.day) !== null) return;
    stored.current = JSON.stringify(next.draft);
    await attempt(() => host.call('offer.update', { id, draft: next.draft, gesture }));
  }, [attempt, host, id, gesture]);
  useEffect(() => () => void write(), [write]);
  useEffect(() => {
    // Taken back or changed elsewhere: what is stored now is what is shown.
    if (waiting.current !== null || arrived === stored.current) return;
    stored.current = arrived;
    setDraft(JSON.parse(arrived) as OfferDraft);
  }, [arrived]);
  const change = (part: Partial<OfferDraft>): void => {
    const next = { ...draft, ...part };
    setDraft(next);
    if (waiting.current !== null) clearTimeout(waiting.current.timer);
    waiting.current = { draft: next, timer: setTimeout(() => void write(), SAVE_AFTER_MS) };
  };
  return [draft, change];
}

function OfferBody({ page }: { readonly page: OfferPage }) {
  const [draft, change] = useSaved(page);
  return (
    <div className="screen">
      <Crumb to="#/offers" name="Turntables on offer" />
      <div className="screen-head">
        <ScreenTitle>{page.offer.title}</ScreenTitle>
      </div>
      <Cautions title="Before anything is plugged in" lines={CAUTIONS.setUp} />
      <section aria-labelledby="offer-basics">
        <h2 id="offer-basics">1. What is offered</h2>
        <Basics draft={draft} change={change} />
      </section>
      <section aria-labelledby="offer-deck">
        <h2 id="offer-deck">2. Around the deck</h2>
        <DeckWalk draft={draft} change={change} />
      </section>
      <section aria-labelledby="offer-pictures">
        <h2 id="offer-pictures">3. The stylus on it</h2>
        <OfferPictures page={page} />
      </section>
      <section aria-labelledby="offer-said">
        <h2 id="offer-said">4. What the seller says</h2>
        <Statements draft={draft} change={change} />
      </section>
      <section aria-labelledby="offer-costs">
        <h2 id="offer-costs">5. Costs to reckon with</h2>
        <Costs draft={draft} change={change} />
      </section>
      <section aria-labelledby="offer-sheet">
        <h2 id="offer-sheet">6. The sheet</h2>
        <OfferSheet page={page} />
      </section>
    </div>
  );
}

const PAPERS = [
  { value: 'A4', label: 'A4' },
  { value: 'Letter', label: 'Letter' },
] as const;

function OfferSheet({ page }: { readonly page: OfferPage }) {
  const { host, run, say, set } = useModel();
  const paper = useDaybook((state) => state.settings.paper);
  const canPdf = useDaybook((state) => state.info?.canPrintPdf ?? false);
  const { id, title } = page.offer;
  const made = useMadeSheet(() => host.call('offer.html', { id, paper }), JSON.stringify([page, paper]));
  const pdf = async (): Promise<void> => {
    const made = await run('Printing the sheet', () => host.call('offer.pdf', { id, paper }));
    if (made === null) return;
    save(new Blob([made.bytes], { type: 'application/pdf' }), made.fileName);
    say(`Saved as ${safeName(made.fileName)}.`);
  };
  return (
    <>
      <div className="form sheet-choice">
        <ChoiceField label="Paper" value={paper} choices={PAPERS} onChange={(next) => set({ paper: next })} />
      </div>
      <div className="actions sheet-actions">
        <button
          type="button"
          className="button"
          disabled={made.html === null}
          onClick={() =>
            made.html !== null && save(new Blob([made.html], { type: 'text/html' }), `${title} sheet.html`)
          }
        >
          Save as HTML
        </button>
        <button type="button" className="button button-main" disabled={!canPdf} onClick={() => void pdf()}>
          <Icon name="sheet" />
          Save PDF
        </button>
      </div>
      <SheetPreview made={made} paper={paper} title={`Sheet of ${title}, preview`} />
    </>
  );
}
