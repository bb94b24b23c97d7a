import type { BenchState } from './bench-state.ts';
import { drawStage, type Scene } from './draw.ts';
import type { Size } from './geometry.ts';
import type { Key, LegendParts } from './legend.tsx';

/** Device pixels per CSS pixel (96 to the inch) for print: 300 dots per inch, and a bit to spare. */
const PRINT_RATIO = 3.2;

/** The stage with its scale bar and legend as one picture, at print resolution. */
export function viewForSaving(
  size: Size,
  state: BenchState,
  scene: Scene,
  bar: { readonly px: number; readonly label: string },
  { keys, remark }: LegendParts,
): HTMLCanvasElement {
  const canvas = document.createElement('canvas');
  const said = remark === null ? [] : remark.split(/(?<=[;.,]) /);
  const foot = 34 + (keys.length + said.length) * 22;
  drawStage(canvas, size, state, scene, null, null, PRINT_RATIO);
  const out = document.createElement('canvas');
  const ratio = canvas.width / size.width;
  out.width = canvas.width;
  out.height = canvas.height + Math.round(foot * ratio);
  const context = out.getContext('2d');
  if (context === null) return canvas;
  context.fillStyle = '#fff';
  context.fillRect(0, 0, out.width, out.height);
  context.drawImage(canvas, 0, 0);
  context.setTransform(ratio, 0, 0, ratio, 0, size.height * ratio);
  context.font = '14px system-ui, sans-serif';
  context.fillStyle = '#000';
  context.fillRect(12, 12, bar.px, 4);
  context.fillText(bar.label, 20 + bar.px, 19);
  keys.forEach((key, index) => {
    drawKey(context, key, 32 + index * 22);
    context.fillText(key.text, 48, 44 + index * 22);
  });
  said.forEach((line, index) => context.fillText(line, 12, 44 + (keys.length + index) * 22));
  return out;
}

/** A fill as a square, a line as it is on the stage, on a piece of dark ground. */
function drawKey(context: CanvasRenderingContext2D, { look, colour }: Key, y: number): void {
  context.fillStyle = look === 'fill' ? colour : '#1d242b';
  context.fillRect(12, y, look === 'fill' ? 14 : 28, 14);
  if (look !== 'fill') {
    context.setLineDash(look === 'dashed' ? [7, 5] : []);
    context.beginPath();
    context.moveTo(14, y + 7);
    context.lineTo(38, y + 7);
    context.lineWidth = 2;
    context.strokeStyle = colour;
    context.stroke();
    context.setLineDash([]);
  }
  context.fillStyle = '#000';
}
