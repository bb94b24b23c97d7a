import type { Capture, Dated, HostClient, InputOf, Made } from '../../shared/index.ts';
import type { TakenPicture } from './protocol.ts';
import { bytesOf, liveFileName, recordOf } from './record.ts';
import type { SessionView, Stream } from './session.ts';

/** What the person said about the pictures of this screen. */
export type LiveFacts = Pick<
  InputOf<'capture.add'>,
  'stylusId' | 'view' | 'light' | 'mirrored' | 'scale' | 'microscope' | 'isBaseline' | 'studyId'
>;
export type Keeping = {
  readonly host: HostClient;
  readonly view: SessionView<Stream>;
  readonly facts: LiveFacts;
  readonly picture: TakenPicture;
  readonly made: Made;
  readonly taken: Dated;
  /** The focal planes of a merge, in their order. */
  readonly parts?: readonly TakenPicture[];
};

const offer = (host: HostClient, fileName: string, picture: TakenPicture) =>
  host.call('picture.offerPixels', {
    fileName,
    widthPx: picture.width,
    heightPx: picture.height,
    channels: picture.channels,
    bits: picture.bits,
    pixels: bytesOf(picture),
  });

/** Stores a picture with how it was taken. All or nothing: what was offered and not added is taken back. */
export async function keepPicture(keeping: Keeping): Promise<Capture> {
  const { host, view, facts, picture, made, taken, parts = [] } = keeping;
  const tokens: string[] = [];
  try {
    for (const [index, part] of parts.entries())
      tokens.push((await offer(host, liveFileName(facts.view, taken, ` plane ${index + 1}`), part)).token);
    tokens.push((await offer(host, liveFileName(facts.view, taken), picture)).token);
    return await host.call('capture.add', {
      ...facts,
      token: tokens[parts.length],
      taken,
      notes: '',
      camera: recordOf(view, picture, made),
      ...(parts.length === 0 ? {} : { parts: tokens.slice(0, -1) }),
    });
  } catch (error) {
    for (const token of tokens) await host.call('picture.withdraw', { token }).catch(() => undefined);
    throw error;
  }
}
