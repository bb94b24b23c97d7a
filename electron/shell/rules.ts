/** Decisions of the Electron shell as plain functions, so that they are tested without Electron. */
export const SCHEME = 'daybook';
export const ORIGIN = `${SCHEME}://app`;
export const START_PAGE = `${ORIGIN}/index.html`;

const parsed = (url: string): URL | null => (URL.canParse(url) ? new URL(url) : null);

/** Only the window's own pages. `URL.origin` is "null" for a scheme of one's own, so the parts are compared. */
export function isOwnPage(url: string): boolean {
  const found = parsed(url);
  return (
    found !== null &&
    found.protocol === `${SCHEME}:` &&
    found.host === 'app' &&
    found.username === '' &&
    found.password === ''
  );
}

export type Frame = { readonly url: string; readonly parent: unknown };

/** A call counts only from the window's own top frame: not from a frame in it, not from a page that replaced it. */
export const isTrustedSender = (frame: Frame | null | undefined): boolean =>
  frame !== null && frame !== undefined && frame.parent === null && isOwnPage(frame.url);

/** The camera's picture for our own page, and nothing else: no sound, no place, no notifications. */
export function mayUse(
  permission: string,
  details: { url: string; isMainFrame: boolean; mediaTypes: readonly string[] },
): boolean {
  if (!isOwnPage(details.url) || !details.isMainFrame || permission !== 'media') return false;
  return details.mediaTypes.length > 0 && details.mediaTypes.every((type) => type === 'video');
}

/** The sheet's preview is a frame without an address of its own; everything else stays where it is. */
export const mayNavigate = (url: string, isMainFrame: boolean): boolean =>
  !isMainFrame && url === 'about:srcdoc';

/** What the window may load at all; everything else is cancelled before it is asked for. */
export function mayLoad(url: string): boolean {
  const found = parsed(url);
  if (found === null) return false;
  if (found.protocol === `${SCHEME}:`) return isOwnPage(url);
  return ['blob:', 'data:', 'devtools:'].includes(found.protocol);
}
