/** Tags of one session: those it has, each to be taken off, and one more to be put on. */
import { type FormEvent, useId, useState } from 'react';
import type { SessionRow } from '../../shared-core/bridge/contract.ts';
import { ask } from '../app/bridge-client.ts';
import { Button } from '../ui/button.tsx';
import { Section } from '../ui/section.tsx';
import { choicesOf } from './session-filter.ts';
import { refreshSessions, useSessionList } from './session-list.ts';

/** As the host's schema has it. */
const LONGEST_TAG = 40;

export function Tags({ row }: { readonly row: SessionRow }) {
  const rows = useSessionList((s) => s.rows);
  const [text, setText] = useState('');
  const [isBusy, setBusy] = useState(false);
  const listId = useId();
  const known = choicesOf(rows ?? []).tags.filter((tag) => !row.tags.includes(tag));

  const set = async (tags: readonly string[]): Promise<void> => {
    setBusy(true);
    await ask('sessions.tags', { id: row.id, tags: [...tags] });
    await refreshSessions();
    setBusy(false);
  };
  const add = (e: FormEvent): void => {
    e.preventDefault();
    const tag = text.trim();
    if (tag === '' || isBusy) return;
    setText('');
    void set([...row.tags, tag]);
  };

  return (
    <Section title="Tags" data-testid="session-tags">
      <div className="tags">
        {row.tags.map((tag) => (
          <Button
            key={tag}
            small
            tone="quiet"
            disabled={isBusy}
            onClick={() => set(row.tags.filter((each) => each !== tag))}
            aria-label={`Take off the tag ${tag}`}
            data-testid={`tag-${tag}`}
          >
            <span className="tag">{tag}</span> ×
          </Button>
        ))}
        <form className="tag-entry" onSubmit={add}>
          <input
            className="input"
            aria-label="New tag"
            placeholder="New tag"
            maxLength={LONGEST_TAG}
            list={listId}
            value={text}
            onChange={(e) => setText(e.target.value)}
            data-testid="tag-entry"
          />
          <datalist id={listId}>
            {known.map((tag) => (
              <option key={tag} value={tag} />
            ))}
          </datalist>
          <Button small type="submit" disabled={text.trim() === '' || isBusy} data-testid="tag-add">
            Add
          </Button>
        </form>
      </div>
    </Section>
  );
}
