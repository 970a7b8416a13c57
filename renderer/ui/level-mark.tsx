/** Mark of an alarm level: shape, letter and, where there is room, the word. Never colour alone. */
import type { AlarmLevel } from '../../shared-core/limits/rules.ts';

export const levelWords: Readonly<Record<AlarmLevel, string>> = {
  notice: 'Notice',
  caution: 'Caution',
  warning: 'Warning',
  abort: 'Abort',
};

export interface LevelMarkProps {
  readonly level: AlarmLevel;
  /** Side in px; 20 unless told. */
  readonly size?: number;
  readonly withWord?: boolean;
  /** Blinks (the symbol only, once a second) until acknowledged. */
  readonly isBlinking?: boolean;
}

export function LevelMark({ level, size = 20, withWord = false, isBlinking = false }: LevelMarkProps) {
  return (
    <span className="level-mark" data-level={level}>
      <svg
        className={isBlinking ? 'blinks' : undefined}
        width={size}
        height={size}
        viewBox="0 0 20 20"
        role="img"
        aria-label={levelWords[level]}
      >
        <Shape level={level} />
      </svg>
      {withWord && <span aria-hidden="true">{levelWords[level]}</span>}
    </span>
  );
}

function Shape({ level }: { readonly level: AlarmLevel }) {
  switch (level) {
    case 'notice':
      return (
        <>
          <circle cx="10" cy="10" r="8" className="mark-hollow" />
          <text x="10" y="14" className="mark-letter-notice">
            N
          </text>
        </>
      );
    case 'caution':
      return (
        <>
          <path d="M10 1.2 19 18.2H1Z" className="mark-caution" />
          <text x="10" y="16.4" className="mark-letter">
            C
          </text>
        </>
      );
    case 'warning':
      return (
        <>
          <path d="M10 .6 19.4 10 10 19.4.6 10Z" className="mark-warning" />
          <text x="10" y="13.8" className="mark-letter">
            W
          </text>
        </>
      );
    case 'abort':
      return (
        <>
          <rect x="1.5" y="1.5" width="17" height="17" className="mark-abort" />
          <text x="10" y="14.4" className="mark-letter-abort">
            A
          </text>
        </>
      );
  }
}
