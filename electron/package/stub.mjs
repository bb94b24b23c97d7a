import { chmodSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/**
 * A folder that looks like Electron's program files to the packer and holds none of them, so that the configuration can be
 * proved on a machine without network. What comes out cannot be started.
 */
export const FUSE_MARK = 'dL7pKGdnNz796PbbjQWNKmHXBZaB9tsX';
const FUSES = 9;

export function makeStub(folder, electronVersion) {
  mkdirSync(join(folder, 'resources'), { recursive: true });
  // The mark, the format's version, how many fuses follow, all of them off ("0").
  const wire = Buffer.concat([Buffer.from(FUSE_MARK), Buffer.from([1, FUSES]), Buffer.alloc(FUSES, 0x30)]);
  writeFileSync(join(folder, 'electron'), Buffer.concat([Buffer.alloc(64), wire, Buffer.alloc(64)]));
  chmodSync(join(folder, 'electron'), 0o755);
  writeFileSync(join(folder, 'version'), electronVersion);
  writeFileSync(join(folder, 'LICENSE'), 'A stub: no program.\n');
  writeFileSync(join(folder, 'LICENSES.chromium.html'), '<p>A stub: no program.</p>\n');
  return folder;
}
