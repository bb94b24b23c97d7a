import { buildPyramid, type PyramidJob } from './pyramid.ts';

/** Makes pictures ready for the stage beside the page, which must not stand still for twelve megapixels. */
type Asked = PyramidJob & { readonly number: number };
type Port = {
  addEventListener: (name: 'message', listener: (event: MessageEvent<Asked>) => void) => void;
  postMessage: (message: unknown, transfer: Transferable[]) => void;
};
// The page's types describe a window; in here the same name is the worker's own port.
const port = globalThis as unknown as Port;

port.addEventListener('message', ({ data: { number, ...job } }) => {
  buildPyramid(job).then(
    (pyramid) =>
      port.postMessage(
        { number, pyramid },
        pyramid.levels.flatMap(({ image, tinted }) => (tinted === null ? [image] : [image, tinted])),
      ),
    () => port.postMessage({ number, pyramid: null }, []),
  );
});
