/**
 * The other side of the live benchmark: each line comes as a JSON message,
 * and once per animation frame the chart library is given all points anew.
 */
import { LINES, POINTS } from './bench-channels.ts';
import { logFrame, startFrameLog } from './frame-log.ts';
import { PlainChart } from './plain-chart.ts';

interface LineMessage {
  readonly n: number;
  readonly t: number;
  readonly v: readonly number[];
}

const root = document.getElementById('root') as HTMLElement;
root.style.cssText = 'width:1378px;height:740px';
const chart = new PlainChart(root, 74);
const log = startFrameLog();
const points: [number, number][][] = Array.from({ length: LINES }, () => []);
let newest: LineMessage | null = null;
let drawn = -1;

const socket = new WebSocket(`ws://${location.host}/`);
socket.onmessage = (event: MessageEvent<string>) => {
  const message = JSON.parse(event.data) as LineMessage;
  // Lines of full length from the first message on, as on the other side.
  if (newest === null) {
    for (let i = 0; i < LINES; i++) {
      for (let k = 0; k < POINTS; k++) points[i]!.push([message.t - (POINTS - k) / 100, 200 + (k % 40)]);
    }
  }
  newest = message;
  for (let i = 0; i < LINES; i++) {
    const line = points[i]!;
    line.push([message.t, message.v[i]!]);
    if (line.length > POINTS) line.shift();
  }
};

function frame(): void {
  requestAnimationFrame(frame);
  if (newest === null || newest.n === drawn) return;
  drawn = newest.n;
  chart.draw(points[0]![0]![0], newest.t, points);
  logFrame(log, drawn);
}
requestAnimationFrame(frame);
