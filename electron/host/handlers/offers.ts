import { Refusal } from '../../../shared/index.ts';
import type { HostHandlers } from '../../../shared/index.ts';
import type { Context } from '../context.ts';
import { mustHaveHappened } from '../happened.ts';
import { makeOfferSheet } from '../sheet/offer.ts';
import { createOffer, listOffers, offerPage, updateOffer } from '../store/offers.ts';

type Names = 'offer.list' | 'offer.page' | 'offer.create' | 'offer.update' | 'offer.html' | 'offer.pdf';

/** Used turntables on offer and their sheet. */
export function offerHandlers(context: Context): Pick<HostHandlers, Names> {
  const { db } = context.collection;
  return {
    'offer.list': async () => listOffers(db),
    'offer.page': async ({ id }) => offerPage(db, id),
    'offer.create': async (draft) => {
      mustHaveHappened([draft.day]);
      const offer = createOffer(db, draft);
      context.emit('changed', { stylusId: null });
      return offer;
    },
    'offer.update': async ({ id, draft }) => {
      mustHaveHappened([draft.day]);
      const offer = updateOffer(db, id, draft);
      context.emit('changed', { stylusId: offer.stylusId });
      return offer;
    },
    'offer.html': async ({ id, paper }) => ({ html: (await makeOfferSheet(context, id, paper)).html }),
    'offer.pdf': async ({ id, paper }) => {
      if (context.printPdf === null)
        throw new Refusal(
          'no-printer',
          'No browser was found that could make the PDF. Install Chromium, Chrome or Edge, or print the preview from your own browser.',
        );
      const { html, fileName } = await makeOfferSheet(context, id, paper);
      return { bytes: await context.printPdf(html, paper), fileName };
    },
  };
}
