/**
 * The part of opencv-wasm that this house uses. Its own declarations ship as .ts source and do not pass our strict
 * settings; these few lines are checked against what the package does by the tests in tests/core/cv.
 */
export type Mat = {
  readonly rows: number;
  readonly cols: number;
  readonly data: Uint8Array;
  readonly data32S: Int32Array;
  readonly data32F: Float32Array;
  delete(): void;
};
export type MatVector = { size(): number; get(index: number): Mat; delete(): void };
export type Size = { width: number; height: number };
type Point = { x: number; y: number };
type OpenCv = {
  readonly CV_8UC1: number;
  readonly CV_32FC1: number;
  readonly RETR_EXTERNAL: number;
  readonly CHAIN_APPROX_NONE: number;
  readonly MORPH_CLOSE: number;
  readonly MORPH_OPEN: number;
  readonly MORPH_ELLIPSE: number;
  readonly MORPH_RECT: number;
  readonly BORDER_REPLICATE: number;
  readonly BORDER_CONSTANT: number;
  readonly INTER_AREA: number;
  Mat: { new (): Mat; new (rows: number, cols: number, type: number): Mat };
  MatVector: { new (): MatVector };
  Size: { new (width: number, height: number): Size };
  Point: { new (x: number, y: number): Point };
  matFromArray(rows: number, cols: number, type: number, data: ArrayLike<number>): Mat;
  GaussianBlur(src: Mat, dst: Mat, size: Size, sigmaX: number, sigmaY: number, border: number): void;
  resize(src: Mat, dst: Mat, size: Size, fx: number, fy: number, interpolation: number): void;
  getStructuringElement(shape: number, size: Size): Mat;
  morphologyEx(
    src: Mat,
    dst: Mat,
    op: number,
    kernel: Mat,
    anchor: Point,
    iterations: number,
    border: number,
  ): void;
  findContours(image: Mat, contours: MatVector, hierarchy: Mat, mode: number, method: number): void;
  contourArea(contour: Mat): number;
  exceptionFromPtr(pointer: number): { msg: string };
};
declare const pkg: { readonly cv: OpenCv };
export default pkg;
