/** Photographs of a firing: shown under their note, and filed with who and a word. */
import { useRef, useState } from 'preact/hooks';
import type { Note } from '../daemon/wire/live-messages.ts';
import { MOST_PHOTO_BYTES } from '../daemon/wire/photo-limits.ts';
import { api } from './api.ts';
import { nameAtTheBench } from './person.ts';
import { photo as words } from './record-wording.ts';

const TAKEN: readonly string[] = ['image/jpeg', 'image/png'];

export function NotePhoto({ id, note }: { readonly id: string; readonly note: Note }) {
  if (note.photo === undefined) return null;
  const end = note.photo.media === 'image/png' ? 'png' : 'jpg';
  const source = `/api/firings/${encodeURIComponent(id)}/photos/${note.photo.sha256}.${end}`;
  return (
    <a class="photo" href={source} target="_blank" rel="noreferrer">
      <img src={source} alt={words.of(note.text)} loading="lazy" />
    </a>
  );
}

export function PhotoForm({ id, written }: { readonly id: string; written(): void }) {
  const input = useRef<HTMLInputElement>(null);
  const [picture, setPicture] = useState<File | null>(null);
  const [text, setText] = useState('');
  const [isFiling, setIsFiling] = useState(false);
  const [refusal, setRefusal] = useState<string | null>(null);
  const choose = (file: File | null): void => {
    const isTaken = file !== null && TAKEN.includes(file.type) && file.size <= MOST_PHOTO_BYTES;
    setPicture(isTaken ? file : null);
    setRefusal(file === null || isTaken ? null : words.wrong);
  };
  const send = async (chosen: File): Promise<void> => {
    setIsFiling(true);
    const answer = await api.photo(id, chosen, text.trim(), nameAtTheBench());
    setIsFiling(false);
    setRefusal(answer.ok ? null : answer.sentence);
    if (!answer.ok) return;
    if (input.current !== null) input.current.value = '';
    setPicture(null);
    setText('');
    written();
  };
  return (
    <form
      class="note-form photo-form"
      onSubmit={(event) => {
        event.preventDefault();
        if (picture !== null && !isFiling) void send(picture);
      }}
    >
      <label>
        <span>{words.choose}</span>
        <input
          ref={input}
          type="file"
          accept={TAKEN.join(',')}
          onChange={(event) => choose(event.currentTarget.files?.[0] ?? null)}
        />
      </label>
      <label>
        <span>{words.note}</span>
        <input type="text" maxLength={2000} value={text} onInput={(event) => setText(event.currentTarget.value)} />
      </label>
      <button type="submit" disabled={picture === null || isFiling}>
        {isFiling ? words.filing : words.file}
      </button>
      <p class="refusal" role="status">
        {refusal ?? ''}
      </p>
    </form>
  );
}
