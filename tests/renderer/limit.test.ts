import { createElement } from 'react';
import { renderToStaticMarkup } from 'react-dom/server';
import { describe, expect, it } from 'vitest';
import { TextField } from '../../renderer/ui/fields.tsx';
import { tooLongSentence } from '../../renderer/ui/limit.ts';

const field = (length: number): string =>
  renderToStaticMarkup(
    createElement(TextField, {
      label: 'Name',
      maxLength: 200,
      value: 'n'.repeat(length),
      onChange: () => undefined,
    }),
  );

describe('a field that takes so many characters', () => {
  it('says so when it is full, and ties the sentence to the field', () => {
    expect(field(199)).not.toContain('characters');
    const full = field(200);
    expect(full).toContain('200 characters: no more fit in.');
    const id = /id="([^"]+-said)"/.exec(full)?.[1];
    expect(full).toContain(`aria-describedby="${id}"`);
  });

  it('refuses a text that does not fit whole, and counts what it would replace', () => {
    expect(tooLongSentence(150, 0, 'x'.repeat(50), 200)).toBeNull();
    expect(tooLongSentence(150, 0, 'x'.repeat(51), 200)).toContain('would be 201 characters');
    expect(tooLongSentence(150, 150, 'x'.repeat(200), 200)).toBeNull();
  });
});
