import type { View } from '../../shared/index.ts';

/** Which screen is shown. It lives in the address after '#', so that reloading and going back work. */
export type Route =
  | { readonly screen: 'shelf' }
  | { readonly screen: 'scales' }
  | { readonly screen: 'keeping' }
  | { readonly screen: 'bin' }
  | { readonly screen: 'stylus'; readonly stylusId: string }
  | {
      readonly screen: 'bench';
      readonly stylusId: string;
      readonly baselineId: string;
      readonly laterId: string;
    }
  | { readonly screen: 'look'; readonly stylusId: string; readonly captureId: string }
  /** The live picture, for a view of this stylus. */
  | {
      readonly screen: 'camera';
      readonly stylusId: string;
      readonly view: View;
      /** The repeatability study that the pictures are for. */
      readonly studyId?: string;
    }
  /** Repeatability studies, and one of them. */
  | { readonly screen: 'studies'; readonly stylusId: string }
  | { readonly screen: 'study'; readonly stylusId: string; readonly studyId: string }
  /** The guided set of a new stylus. */
  | { readonly screen: 'first-set'; readonly stylusId: string }
  | { readonly screen: 'listening'; readonly stylusId: string }
  /** Used turntables on offer, and one of them. */
  | { readonly screen: 'offers' }
  | { readonly screen: 'offer'; readonly offerId: string }
  | { readonly screen: 'sheet'; readonly stylusId: string; readonly comparisonId: string | null };

const ID = /^[0-9a-z]{8,40}$/;
const VIEWS: readonly View[] = ['front', 'side', 'end-on', 'below', 'above'];

/** Anything that is not one of our addresses is the shelf. */
export function parseRoute(hash: string): Route {
  const [screen, ...ids] = hash.replace(/^#\/?/, '').split('/');
  if (screen === 'camera' && (ids.length === 2 || ids.length === 3) && ID.test(ids[0])) {
    const view = VIEWS.find((one) => one === ids[1]);
    const forStudy = ids.length === 3 ? (ID.test(ids[2]) ? { studyId: ids[2] } : null) : {};
    if (view !== undefined && forStudy !== null)
      return { screen: 'camera', stylusId: ids[0], view, ...forStudy };
  }
  if (!ids.every((id) => ID.test(id))) return { screen: 'shelf' };
  const [first, second, third] = ids;
  if (screen === 'scales' && ids.length === 0) return { screen: 'scales' };
  if (screen === 'offers' && ids.length === 0) return { screen: 'offers' };
  if (screen === 'offer' && ids.length === 1) return { screen: 'offer', offerId: first };
  if (screen === 'first-set' && ids.length === 1) return { screen: 'first-set', stylusId: first };
  if (screen === 'studies' && ids.length === 1) return { screen: 'studies', stylusId: first };
  if (screen === 'study' && ids.length === 2) return { screen: 'study', stylusId: first, studyId: second };
  if (screen === 'listening' && ids.length === 1) return { screen: 'listening', stylusId: first };
  if ((screen === 'keeping' || screen === 'bin') && ids.length === 0) return { screen };
  if (screen === 'stylus' && ids.length === 1) return { screen: 'stylus', stylusId: first };
  if (screen === 'bench' && ids.length === 3)
    return { screen: 'bench', stylusId: first, baselineId: second, laterId: third };
  if (screen === 'look' && ids.length === 2) return { screen: 'look', stylusId: first, captureId: second };
  if (screen === 'sheet' && (ids.length === 1 || ids.length === 2))
    return { screen: 'sheet', stylusId: first, comparisonId: second ?? null };
  return { screen: 'shelf' };
}

export function writeRoute(route: Route): string {
  switch (route.screen) {
    case 'shelf':
      return '#/';
    case 'scales':
      return '#/scales';
    case 'offers':
      return '#/offers';
    case 'offer':
      return `#/offer/${route.offerId}`;
    case 'first-set':
      return `#/first-set/${route.stylusId}`;
    case 'listening':
      return `#/listening/${route.stylusId}`;
    case 'keeping':
    case 'bin':
      return `#/${route.screen}`;
    case 'stylus':
      return `#/stylus/${route.stylusId}`;
    case 'bench':
      return `#/bench/${route.stylusId}/${route.baselineId}/${route.laterId}`;
    case 'look':
      return `#/look/${route.stylusId}/${route.captureId}`;
    case 'camera':
      return `#/camera/${route.stylusId}/${route.view}${route.studyId === undefined ? '' : `/${route.studyId}`}`;
    case 'studies':
      return `#/studies/${route.stylusId}`;
    case 'study':
      return `#/study/${route.stylusId}/${route.studyId}`;
    case 'sheet':
      break;
  }
  return `#/sheet/${route.stylusId}` + (route.comparisonId === null ? '' : `/${route.comparisonId}`);
}

/** The stylus a screen is about, if it is about one. */
export const stylusOf = (route: Route): string | null => ('stylusId' in route ? route.stylusId : null);
