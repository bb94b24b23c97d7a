/** Markup that cannot be broken by text: whatever is put into the template is escaped, unless it is markup itself. */
export type Markup = { readonly markup: string };
type Part = string | number | Markup | readonly Part[] | null;

const ESCAPES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

export const escapeHtml = (text: string): string => text.replaceAll(/[&<>"']/g, (found) => ESCAPES[found]);

function rendered(part: Part): string {
  if (part === null) return '';
  if (typeof part === 'string') return escapeHtml(part);
  if (typeof part === 'number') return String(part);
  return 'markup' in part ? part.markup : part.map(rendered).join('');
}

export function html(strings: TemplateStringsArray, ...parts: Part[]): Markup {
  return {
    markup: strings.map((text, i) => text + (i < parts.length ? rendered(parts[i]) : '')).join(''),
  };
}
