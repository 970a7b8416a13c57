/** What a page of the live benchmark saw: which line was on the screen when, and how long each frame was. */

export interface FrameLog {
  /** Wall clock of the ends of frames that drew, ms with fractions, and the newest running number drawn in each. */
  readonly shownAt_epochMs: number[];
  readonly shown: number[];
  /** Time between two animation frames, ms, drawn or not. */
  readonly gaps_ms: number[];
}

declare global {
  interface Window {
    frameLog: FrameLog;
  }
}

export function startFrameLog(): FrameLog {
  const log: FrameLog = { shownAt_epochMs: [], shown: [], gaps_ms: [] };
  window.frameLog = log;
  let last_ms = NaN;
  const look = (now_ms: number): void => {
    if (!Number.isNaN(last_ms)) log.gaps_ms.push(now_ms - last_ms);
    last_ms = now_ms;
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
  return log;
}

/**
 * To be called within an animation frame that draws. A task posted from there
 * runs once the frame is through with style, layout and paint: the nearest
 * that a page can come to "on the glass".
 */
export function logFrame(log: FrameLog, marker: number): void {
  afterPaint((at_ms) => {
    log.shownAt_epochMs.push(performance.timeOrigin + at_ms);
    log.shown.push(marker);
  });
}

export function afterPaint(done: (at_ms: number) => void): void {
  const channel = new MessageChannel();
  channel.port1.onmessage = () => {
    channel.port1.close();
    done(performance.now());
  };
  channel.port2.postMessage(null);
}
