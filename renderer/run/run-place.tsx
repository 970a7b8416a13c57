/** The Run place: the live board, and below it the acts of the moment. */

import { useConnection } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { ActsBar } from './acts-bar.tsx';
import { Board } from './board.tsx';

export function RunPlace(_: { readonly rest: readonly string[] }) {
  const hasLayout = useStream('live', (s) => s.layout !== null && s.layout.channels.length > 0);
  const source = useStream('live', (s) => s.snapshot?.source ?? null);
  const connection = useConnection((c) => c.state);
  if (!hasLayout) {
    const isWaiting = connection !== 'open' || source === null || source.state === 'opening';
    return (
      <div className="run-place">
        <h1 className="sr-only">Run</h1>
        <Empty
          title={
            isWaiting
              ? 'Waiting for the first values'
              : source.kind === 'none'
                ? 'No source is chosen'
                : 'Nothing is heard from the bench yet'
          }
          data-testid="run-empty"
          action={
            <Button tone="solid" onClick={() => goTo('rig')}>
              Choose a source in Rig
            </Button>
          }
        >
          {source && source.sentence !== ''
            ? `${source.sentence} ${source.remedy}`
            : 'The board fills as soon as the bench has said which channels it has.'}
        </Empty>
      </div>
    );
  }
  return (
    <div className="run-place" data-testid="run">
      <h1 className="sr-only">Run</h1>
      <Board stream="live" />
      <ActsBar />
    </div>
  );
}
