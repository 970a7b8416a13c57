/**
 * A button that acts only while held (`onHold(true)` … `onHold(false)`), or
 * that must be held for `confirm_ms` before it acts once (`onConfirm`).
 * Pointer and keyboard alike; lets go by itself when focus, window or pointer
 * is lost, so that nothing stays held by accident.
 */
import { type ReactNode, useEffect, useEffectEvent, useRef, useState } from 'react';

export interface HoldButtonProps {
  readonly children: ReactNode;
  readonly onHold?: (isHeld: boolean) => void;
  readonly onConfirm?: () => void;
  /** With `onConfirm`: how long it must be held. */
  readonly confirm_ms?: number;
  readonly disabled?: boolean;
  readonly className?: string;
  readonly 'aria-label'?: string;
  readonly 'data-testid'?: string;
}

export function HoldButton({
  children,
  onHold,
  onConfirm,
  confirm_ms = 1000,
  disabled = false,
  className,
  ...rest
}: HoldButtonProps) {
  const [isHeld, setHeld] = useState(false);
  const held = useRef(false);
  const timer = useRef<ReturnType<typeof setTimeout> | null>(null);

  const press = (): void => {
    if (held.current || disabled) return;
    held.current = true;
    setHeld(true);
    onHold?.(true);
    if (onConfirm) {
      timer.current = setTimeout(() => {
        release();
        onConfirm();
      }, confirm_ms);
    }
  };
  const release = (): void => {
    if (timer.current) clearTimeout(timer.current);
    timer.current = null;
    if (!held.current) return;
    held.current = false;
    setHeld(false);
    onHold?.(false);
  };
  const releaseNow = useEffectEvent(release);

  useEffect(() => {
    const letGo = (): void => releaseNow();
    window.addEventListener('blur', letGo);
    document.addEventListener('visibilitychange', letGo);
    return () => {
      window.removeEventListener('blur', letGo);
      document.removeEventListener('visibilitychange', letGo);
      letGo();
    };
  }, []);

  useEffect(() => {
    if (disabled) releaseNow();
  }, [disabled]);

  return (
    <button
      {...rest}
      type="button"
      className={`button hold ${className ?? ''}`}
      data-held={isHeld}
      disabled={disabled}
      style={{ '--hold': `${confirm_ms}ms` } as React.CSSProperties}
      onPointerDown={(e) => {
        if (e.button !== 0) return;
        e.currentTarget.setPointerCapture(e.pointerId);
        press();
      }}
      onPointerUp={release}
      onPointerCancel={release}
      onLostPointerCapture={release}
      onKeyDown={(e) => {
        if (e.key !== ' ' && e.key !== 'Enter') return;
        e.preventDefault();
        if (!e.repeat) press();
      }}
      onKeyUp={(e) => {
        if (e.key === ' ' || e.key === 'Enter') release();
      }}
      onBlur={release}
      onContextMenu={(e) => e.preventDefault()}
    >
      {onConfirm && <span className="hold-fill" aria-hidden="true" />}
      <span className="hold-label">{children}</span>
    </button>
  );
}
