import { Refusal } from '../../../shared/index.ts';
import type { HostHandlers } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { makeSheet } from '../sheet/make.ts';

/** The condition sheet, for the screen and as a PDF. */
export function sheetHandlers(context: Context): Pick<HostHandlers, 'sheet.html' | 'sheet.pdf'> {
  return {
    'sheet.html': async ({ stylusId, comparisonId, paper, hoursBand }) => ({
      html: (await makeSheet(context, stylusId, comparisonId, paper, hoursBand)).html,
    }),
    'sheet.pdf': async ({ stylusId, comparisonId, paper, hoursBand }) => {
      if (context.printPdf === null)
        throw new Refusal(
          'no-printer',
          'No browser was found that could make the PDF. Install Chromium, Chrome or Edge, or print the preview from your own browser.',
        );
      const { html, fileName } = await makeSheet(context, stylusId, comparisonId, paper, hoursBand);
      return { bytes: await context.printPdf(html, paper), fileName };
    },
  };
}
