/** Renders anew when something was heard, and each second, since silence makes no event. */
import { useEffect, useState } from 'preact/hooks';
import type { Dashboard } from './dashboard-state.ts';
import type { Store } from './store.ts';

export function useHeard(store: Store): Dashboard | null {
  const [, setTurn] = useState(0);
  useEffect(() => {
    const again = (): void => setTurn((turn) => turn + 1);
    const timer = setInterval(again, 1000);
    const stop = store.listen(again);
    return () => {
      clearInterval(timer);
      stop();
    };
  }, [store]);
  return store.state();
}
