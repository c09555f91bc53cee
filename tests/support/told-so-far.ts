/** What is told one thing after another, for a test that waits for the first that it wants. */
export interface ToldSoFar<Message> {
  readonly all: readonly Message[];
  add(message: Message): void;
  /** Resolves with the first message, from number `from` on, that is `wanted`, come or still to come. */
  first<T extends Message>(wanted: (message: Message) => message is T, from?: number): Promise<T>;
}

export function toldSoFar<Message>(): ToldSoFar<Message> {
  const all: Message[] = [];
  const looks = new Set<() => void>();
  return {
    all,
    add(message) {
      all.push(message);
      for (const look of [...looks]) look();
    },
    first<T extends Message>(wanted: (message: Message) => message is T, from = 0): Promise<T> {
      return new Promise((resolve) => {
        let at = from;
        const look = (): void => {
          for (; at < all.length; at++) {
            const message = all[at];
            if (message === undefined || !wanted(message)) continue;
            looks.delete(look);
            resolve(message);
            return;
          }
        };
        looks.add(look);
        look();
      });
    },
  };
}
