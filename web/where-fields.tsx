/** Where the instrument of a kiln that is set up speaks, and where a sensor's figure stands in what it says. */
import { useState } from 'preact/hooks';
import type { InputForm, PortFound, SpotForm } from '../daemon/wire/setup.ts';
import { Choice, Field } from './fields.tsx';
import { BAUDS, PARITIES, portName, portNote } from './setup-draft.ts';
import { setup as words } from './wording.ts';

interface InputFieldsProps {
  readonly input: InputForm;
  readonly ports: readonly PortFound[];
  /** The kiln's name: where it listens itself is no other's. */
  readonly kiln: string;
  put(input: InputForm): void;
}

export function InputFields({ input, ports, kiln, put }: InputFieldsProps) {
  switch (input.kind) {
    case 'serial':
      return (
        <>
          <PortChoice
            port={input.port}
            ports={ports}
            kiln={kiln}
            isModbus={false}
            put={(port) => put({ ...input, port })}
          />
          <BaudChoice baud={input.baud} put={(baud) => put({ ...input, baud })} />
        </>
      );
    case 'modbus-rtu':
      if (isAddress(input.port)) {
        return <Field label={words.address} value={input.port} isWide put={(port) => put({ ...input, port })} />;
      }
      return (
        <>
          <PortChoice
            port={input.port}
            ports={ports}
            kiln={kiln}
            isModbus={true}
            put={(port, line) => put({ ...input, ...line, port })}
          />
          <BaudChoice baud={input.baud} put={(baud) => put({ ...input, baud })} />
          <Choice
            label={words.parity}
            value={input.parity}
            options={PARITIES}
            text={(one) => words.parities[one]}
            put={(parity) => put({ ...input, parity })}
          />
        </>
      );
    case 'tcp':
    case 'modbus-tcp':
      return <Field label={words.address} value={input.address} isWide put={(address) => put({ ...input, address })} />;
    case 'mqtt':
      return <Field label={words.url} value={input.url} isWide put={(url) => put({ ...input, url })} />;
  }
}

/** HOST:PORT of a box that hands the bytes through; a port is a path, or COM3. */
function isAddress(port: string): boolean {
  return !port.startsWith('/') && port.includes(':');
}

interface PortChoiceProps {
  readonly port: string;
  readonly ports: readonly PortFound[];
  readonly kiln: string;
  readonly isModbus: boolean;
  put(port: string, line: PortFound['line']): void;
}

/** What is plugged in now; what it was plugged into is shown as well, though nothing is there. */
function PortChoice({ port, ports, kiln, isModbus, put }: PortChoiceProps) {
  const found = (path: string): PortFound | undefined => ports.find((one) => one.path === path);
  const note = (one: PortFound): string => (one.usedBy === kiln ? '' : ` (${portNote(one)})`);
  const text = (path: string): string => {
    const there = found(path);
    return `${portName(path)}${there === undefined ? ` (${words.notPluggedIn})` : note(there)}`;
  };
  const isTaken = (path: string): boolean => {
    const there = found(path);
    const isOthers = there !== undefined && there.usedBy !== null && there.usedBy !== kiln;
    return isOthers && !(isModbus && there.line !== null);
  };
  return (
    <Choice
      label={words.pluggedInAt}
      value={port}
      options={[...new Set([port, ...ports.map(({ path }) => path)])]}
      isWide
      text={text}
      isShut={isTaken}
      put={(path) => put(path, isModbus ? (found(path)?.line ?? null) : null)}
    />
  );
}

function BaudChoice({ baud, put }: { readonly baud: number; put(baud: number): void }) {
  const options = [...new Set([baud, ...BAUDS])].map(String);
  return <Choice label={words.baud} value={String(baud)} options={options} put={(next) => put(Number(next))} />;
}

interface SpotFieldsProps {
  readonly spot: SpotForm;
  put(spot: SpotForm): void;
}

export function SpotFields({ spot, put }: SpotFieldsProps) {
  switch (spot.kind) {
    case 'column':
      return (
        <Choice
          label={words.spotColumn}
          value={String(spot.column)}
          options={Array.from({ length: spot.of }, (_, i) => String(i + 1))}
          text={(one) => words.columnOf(one, spot.of)}
          put={(column) => put({ ...spot, column: Number(column) })}
        />
      );
    case 'name':
      return <Field label={words.spotName} value={spot.name} put={(name) => put({ ...spot, name })} />;
    case 'topic':
      return (
        <>
          <Field label={words.topic} value={spot.topic} isWide put={(topic) => put({ ...spot, topic })} />
          <Field label={words.topicPath} value={spot.path} put={(path) => put({ ...spot, path })} />
        </>
      );
    case 'register':
      return (
        <>
          <Whole label={words.unit} value={spot.unit} put={(unit) => put({ ...spot, unit })} />
          <Whole label={words.registerNumber} value={spot.register} put={(register) => put({ ...spot, register })} />
          <Choice
            label={words.table}
            value={spot.table}
            options={['holding', 'input'] as const}
            text={(one) => words.tables[one]}
            put={(table) => put({ ...spot, table })}
          />
        </>
      );
  }
}

/** A whole number; what is none is put as NaN, until it is one. */
function Whole({ label, value, put }: { readonly label: string; readonly value: number; put(value: number): void }) {
  const [text, setText] = useState(String(value));
  return (
    <Field
      label={label}
      value={text}
      isFigure
      most={5}
      put={(next) => {
        setText(next);
        put(/^\d{1,5}$/.test(next.trim()) ? Number(next) : Number.NaN);
      }}
    />
  );
}

/** What was left out, or is no such number. */
export function isUnclearSpot(spot: SpotForm | null): boolean {
  switch (spot?.kind) {
    case 'register':
      return !(spot.unit <= 255 && spot.register <= 65_536);
    case 'name':
      return spot.name.trim() === '';
    case 'topic':
      return spot.topic.trim() === '';
    default:
      return false;
  }
}
