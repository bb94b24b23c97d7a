import type { Context } from '../context.ts';
import { offerPage } from '../store/offers.ts';
import { sheetDocument } from './document.ts';
import { dayText } from './format.ts';
import { html } from './html.ts';
import { sheetFileName, type Sheet } from './make.ts';
import { cautions } from './sections.ts';

/** The sheet of a used turntable on offer. */
export async function makeOfferSheet(context: Context, id: string, paper: 'A4' | 'Letter'): Promise<Sheet> {
  const { offer } = offerPage(context.collection.db, id);
  const document = sheetDocument({
    title: offer.title,
    kind: 'Used turntable on offer',
    printed: dayText(offer.day),
    demo: false,
    paper,
    body: html`${cautions()}`,
    footer: `Made by Stylus Daybook ${context.version}.`,
  });
  return { html: document, fileName: sheetFileName(offer.title, offer.day) };
}
