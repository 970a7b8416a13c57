/** The way from the recording of a lesson to its debrief; nothing where the session has no lesson. */
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { useReview } from './review-store.ts';

export function DebriefButton({ id }: { readonly id: string }) {
  const hasLesson = useReview((s) =>
    s.events.some(
      ({ body }) =>
        body.kind === 'training' && (body.event.what === 'lesson-started' || body.event.what === 'lesson-resumed'),
    ),
  );
  if (!hasLesson) return null;
  return (
    <Button small onClick={() => goTo('train', 'debrief', id)} data-testid="to-debrief">
      Debrief
    </Button>
  );
}
