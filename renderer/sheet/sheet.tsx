import type { StylusPage } from '../../shared/index.ts';
import { formatDated } from '../format.ts';
import { save, safeName } from '../save.ts';
import { useMadeSheet } from './preview.tsx';
import { writeRoute } from '../state/route.ts';
import { useDaybook, useModel } from '../state/use.ts';
import { NotThere } from '../stylus/stylus-page.tsx';
import { Cautions, Crumb, Refused, ScreenTitle } from '../ui/bits.tsx';
import { ChoiceField } from '../ui/fields.tsx';
import { Icon } from '../ui/icons.tsx';
import { CAUTIONS } from '../words.ts';

type SheetProps = { readonly stylusId: string; readonly comparisonId: string | null };
const PAPERS = [
  { value: 'A4', label: 'A4' },
  { value: 'Letter', label: 'Letter' },
] as const;

/** The condition sheet as it will be printed, and ways to take it away. */
export function SheetScreen({ stylusId, comparisonId }: SheetProps) {
  const { host, go, run, say, set } = useModel();
  const page = useDaybook((state) => state.page);
  const problem = useDaybook((state) => state.problem);
  const canPdf = useDaybook((state) => state.info?.canPrintPdf ?? false);
  const paper = useDaybook((state) => state.settings.paper);
  const [from, to] = useDaybook((state) => state.settings.practiceHours);
  const { html, wrong } = useSheet(stylusId, comparisonId, paper, page);
  if (page === null)
    return problem === null ? <p className="waiting">Opening…</p> : <NotThere sentence={problem} />;
  const pdf = async (): Promise<void> => {
    const made = await run('Printing the sheet', () =>
      host.call('sheet.pdf', { stylusId, comparisonId, paper, hoursBand: [from, to] }),
    );
    if (made === null) return;
    save(new Blob([made.bytes], { type: 'application/pdf' }), made.fileName);
    say(`Saved as ${safeName(made.fileName)}.`);
  };
  return (
    <div className="screen sheet-screen">
      <Crumb to={writeRoute({ screen: 'stylus', stylusId })} name={page.stylus.name} />
      <div className="screen-head">
        <ScreenTitle>Condition sheet</ScreenTitle>
        <div className="actions">
          {html !== null && (
            <button
              type="button"
              className="button"
              onClick={() =>
                save(new Blob([html], { type: 'text/html' }), `${page.stylus.name} condition sheet.html`)
              }
            >
              Save as HTML
            </button>
          )}
          <button type="button" className="button button-main" disabled={!canPdf} onClick={() => void pdf()}>
            <Icon name="sheet" />
            Save PDF
          </button>
        </div>
      </div>
      {!canPdf && (
        <p className="notice">
          No browser for printing was found, so the PDF cannot be made here. Save the sheet as HTML and print
          it from any browser.
        </p>
      )}
      <div className="form sheet-choice">
        <ChoiceField
          label="About"
          value={comparisonId ?? ''}
          choices={[{ value: '', label: 'Newest comparison' }, ...comparisonChoices(page)]}
          onChange={(id) => go({ screen: 'sheet', stylusId, comparisonId: id === '' ? null : id })}
        />
        <ChoiceField label="Paper" value={paper} choices={PAPERS} onChange={(next) => set({ paper: next })} />
      </div>
      <Cautions title="What a sheet is" lines={CAUTIONS.sheet} />
      {wrong !== null && <Refused sentence={wrong} />}
      {html === null && wrong === null && <p className="waiting">Making the sheet…</p>}
      {html !== null && (
        <iframe
          className={`sheet-frame sheet-${paper.toLowerCase()}`}
          title="Condition sheet, preview"
          sandbox=""
          srcDoc={html}
        />
      )}
    </div>
  );
}

/** A changed page makes a changed sheet; one that was only read again does not. */
function useSheet(
  stylusId: string,
  comparisonId: string | null,
  paper: 'A4' | 'Letter',
  page: StylusPage | null,
) {
  const { host } = useModel();
  const [from, to] = useDaybook((state) => state.settings.practiceHours);
  return useMadeSheet(
    () => host.call('sheet.html', { stylusId, comparisonId, paper, hoursBand: [from, to] }),
    page === null ? '' : JSON.stringify([stylusId, comparisonId, paper, from, to, page]),
  );
}

function comparisonChoices(page: StylusPage): { value: string; label: string }[] {
  const date = (id: string): string =>
    formatDated(page.captures.find((capture) => capture.id === id)?.taken ?? null);
  return page.comparisons.map((one) => ({
    value: one.id,
    label: `${date(one.baselineId)} and ${date(one.laterId)}${one.report.ok ? '' : ' (no answer)'}`,
  }));
}
