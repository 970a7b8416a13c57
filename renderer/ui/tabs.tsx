/** Tabs: one panel of several in sight. Arrow keys, Home and End move along the tabs. */
import { type KeyboardEvent, type ReactNode, useId, useRef } from 'react';
import './parts.css';

export interface Tab<Id extends string> {
  readonly id: Id;
  readonly title: string;
}

export interface TabsProps<Id extends string> {
  readonly label: string;
  readonly tabs: readonly Tab<Id>[];
  readonly selected: Id;
  readonly onSelect: (id: Id) => void;
  /** The panel of the selected tab. */
  readonly children: ReactNode;
  /** At the right end of the row of tabs. */
  readonly aside?: ReactNode;
}

export function Tabs<Id extends string>({ label, tabs, selected, onSelect, children, aside }: TabsProps<Id>) {
  const base = useId();
  const row = useRef<HTMLDivElement>(null);
  const onKey = (event: KeyboardEvent): void => {
    // From where the keyboard stands: the selection may come later, by way of the address.
    const at = tabs.findIndex((t) => t.id === (event.target as HTMLElement).getAttribute('data-tab'));
    if (at < 0) return;
    const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: tabs.length - 1 }[event.key];
    if (to === undefined) return;
    const next = tabs[(to + tabs.length) % tabs.length];
    if (!next) return;
    event.preventDefault();
    // Not for the place's own arrow keys.
    event.stopPropagation();
    onSelect(next.id);
    row.current?.querySelector<HTMLElement>(`[data-tab="${next.id}"]`)?.focus();
  };
  return (
    <div className="tab-deck">
      <div className="tab-deck-row">
        <div ref={row} role="tablist" aria-label={label} onKeyDown={onKey}>
          {tabs.map((tab) => (
            <button
              key={tab.id}
              type="button"
              role="tab"
              id={`${base}-${tab.id}`}
              data-tab={tab.id}
              data-testid={`tab-${tab.id}`}
              aria-selected={tab.id === selected}
              aria-controls={`${base}-panel`}
              tabIndex={tab.id === selected ? 0 : -1}
              onClick={() => onSelect(tab.id)}
            >
              {tab.title}
            </button>
          ))}
        </div>
        {aside}
      </div>
      <div
        className="tab-deck-panel"
        role="tabpanel"
        id={`${base}-panel`}
        aria-labelledby={`${base}-${selected}`}
        // biome-ignore lint/a11y/noNoninteractiveTabindex: a panel that scrolls must be reachable by keyboard.
        tabIndex={0}
      >
        {children}
      </div>
    </div>
  );
}
