import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { describe, expect, it } from 'vitest';
import { root } from './support.ts';

/** The watch that the end-to-end suite puts on the program sees every way out, and lets the machine talk to itself. */
const GUARD = pathToFileURL(join(root, 'tests', 'e2e', 'no-network.mjs')).href;

const run = (code: string) =>
  spawnSync(process.execPath, [`--import=${GUARD}`, '--input-type=module', '--eval', code], {
    encoding: 'utf8',
    timeout: 30_000,
  });

describe('the watch on the network', () => {
  // 192.0.2.0/24 is kept for documents (RFC 5737) and belongs to nobody.
  it.each([
    ['fetch by name', `await fetch('http://somewhere.invalid/x').catch(() => {})`, 'somewhere.invalid'],
    ['fetch by number', `await fetch('https://192.0.2.7/x').catch(() => {})`, '192.0.2.7'],
    [
      'a request',
      `const { get } = await import('node:https'); get('https://192.0.2.8/').on('error', () => {})`,
      '192.0.2.8',
    ],
    [
      'a socket',
      `const { connect } = await import('node:net'); connect(80, '192.0.2.9').on('error', () => {})`,
      '192.0.2.9',
    ],
    [
      'a socket with encryption',
      `const { connect } = await import('node:tls'); connect(443, '192.0.2.10').on('error', () => {})`,
      '192.0.2.10',
    ],
  ])('reports %s', (_name, code, host) => {
    const ran = run(code);
    expect(ran.stderr).toContain(`asked for: ${host}`);
    expect(ran.status).toBe(0);
  });

  it('lets the machine talk to itself', () => {
    const ran = run(`
      const { createServer } = await import('node:http');
      const server = createServer((_, response) => response.end('heard'));
      await new Promise((done) => server.listen(0, '127.0.0.1', done));
      const answer = await fetch('http://127.0.0.1:' + server.address().port);
      console.log(await answer.text());
      server.close();
    `);
    expect(ran.stdout).toContain('heard');
    expect(ran.stderr).not.toContain('asked for');
  });
});
