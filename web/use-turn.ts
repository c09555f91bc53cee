/** A number that grows each `ms`: for what is looked at anew as long as the page is open. */
import { useEffect, useState } from 'preact/hooks';

export function useTurn(ms: number): number {
  const [turn, setTurn] = useState(0);
  useEffect(() => {
    const timer = setInterval(() => setTurn((now) => now + 1), ms);
    return () => clearInterval(timer);
  }, [ms]);
  return turn;
}
