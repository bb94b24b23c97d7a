import { readdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { shippedPackages, withAllBelow } from '../build/licences.mjs';

/**
 * How the program is packed, for all three systems. Native parts are those of the system and processor that it is packed
 * for, and npm installs only those of its own machine: Windows is packed on Windows, macOS on macOS, Linux on Linux.
 */
export const root = fileURLToPath(new URL('../..', import.meta.url));
const require = createRequire(import.meta.url);

/** What nobody may do with the packed program; read back from the program file after packing. */
export const FUSES = {
  runAsNode: false,
  enableCookieEncryption: true,
  enableNodeOptionsEnvironmentVariable: false,
  enableNodeCliInspectArguments: false,
  enableEmbeddedAsarIntegrityValidation: true,
  onlyLoadAppFromAsar: true,
  loadBrowserProcessSpecificV8Snapshot: false,
  grantFileProtocolExtraPrivileges: false,
};

/** Packages that the built host loads at run time (electron/build.mjs leaves them out of its bundles). */
export const LOADED = ['@photostructure/sqlite', 'sharp', 'opencv-wasm'];

/** Prebuilt databases of other systems, and the sources of all. */
function othersPrebuilds(platform, arch) {
  const folder = join(dirname(require.resolve('@photostructure/sqlite/package.json')), 'prebuilds');
  return readdirSync(folder)
    .filter((name) => name !== `${platform}-${arch}`)
    .map((name) => `!node_modules/@photostructure/sqlite/prebuilds/${name}/**`);
}

/** Everything else is inside dist/host and dist/renderer already. */
function bundledAlready() {
  const loaded = new Set(withAllBelow(LOADED).map(({ folder }) => folder));
  return shippedPackages()
    .filter(({ folder }) => !loaded.has(folder))
    .map(({ folder }) => `!${folder}/**`);
}

/**
 * @param {{ platform: NodeJS.Platform, arch: string, output: string, electronDist?: string, electronVersion: string, thirdParty: string }} made
 * @returns {import('electron-builder').Configuration}
 */
export function configFor({ platform, arch, output, electronDist, electronVersion, thirdParty }) {
  return {
    appId: 'net.invalid.stylus-daybook',
    productName: 'Stylus Daybook',
    copyright: 'MIT licence',
    directories: { output, buildResources: join(root, 'electron', 'package') },
    electronVersion,
    ...(electronDist === undefined ? {} : { electronDist }),
    // Prebuilt parts fit every version; a rebuild would want a compiler.
    npmRebuild: false,
    nodeGypRebuild: false,
    buildDependenciesFromSource: false,
    asar: true,
    disableDefaultIgnoredFiles: false,
    electronFuses: FUSES,
    publish: null,
    files: [
      'package.json',
      'LICENSE',
      'README.md',
      'dist/host/**',
      'dist/renderer/**',
      'dist/demo/**',
      // Only what runs inside Electron; the command line and the browser window are those of the source.
      '!dist/host/{launch,server,daybook}.js',
      '!**/*.map',
      '!**/*.{ts,mts,cts,md,markdown,c,h,cc,cpp,gyp,gypi}',
      '!node_modules/@photostructure/sqlite/{src,scripts,vendored,doc,deps}/**',
      ...othersPrebuilds(platform, arch),
      ...bundledAlready(),
    ],
    extraFiles: [{ from: thirdParty, to: 'THIRD-PARTY.txt' }],
    // A library that the system loads must be a file of its own.
    asarUnpack: ['**/*.node', '**/*.{so,so.*,dylib,dll}'],
    linux: { target: ['AppImage', 'tar.gz'], category: 'Utility', executableName: 'stylus-daybook' },
    win: { target: ['nsis', 'zip'] },
    nsis: { oneClick: false, perMachine: false, allowToChangeInstallationDirectory: true },
    mac: {
      target: ['dmg', 'zip'],
      category: 'public.app-category.utilities',
      hardenedRuntime: true,
      extendInfo: {
        NSCameraUsageDescription: 'The live picture of a USB microscope, to take dated pictures of a stylus.',
      },
    },
  };
}
