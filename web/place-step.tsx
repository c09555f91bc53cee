/** Where an instrument speaks: a port that is plugged in, or an address in the network. */
import { useState } from 'preact/hooks';
import type { Place, PortFound } from '../daemon/wire/setup.ts';
import { api } from './api.ts';
import { Choice, Field } from './fields.tsx';
import { BAUDS, PARITIES, portName, portNote } from './setup-draft.ts';
import { useAnswer } from './use-answer.ts';
import { useTurn } from './use-turn.ts';
import { setup as words } from './wording.ts';

/** A port that is pushed in now appears within this time. */
const LOOK_MS = 2000;

type Chosen = { readonly port: string; readonly line: PortFound['line'] } | 'mqtt' | 'tcp' | 'modbus';

interface PlaceStepProps {
  listen(place: Place): void;
}

export function PlaceStep({ listen }: PlaceStepProps) {
  const turn = useTurn(LOOK_MS);
  const answer = useAnswer(String(turn), api.places);
  const [choice, setChoice] = useState<Chosen | null>(null);
  const ports = answer?.ok ? answer.value.ports : [];
  const choosePort = ({ path: port, line }: PortFound): void => {
    setChoice({ port, line });
    listen(
      line === null
        ? { kind: 'serial', port, baud: BAUDS[0] }
        : { kind: 'modbus-rtu', port, ...line, unit: 1, register: 0 },
    );
  };
  return (
    <section class="begin-step">
      <h2>{words.steps.place}</h2>
      <fieldset class="places" aria-label={words.steps.place}>
        {ports.map((found) => (
          <PlaceChoice
            key={found.path}
            title={portName(found.path)}
            note={portNote(found)}
            isChosen={typeof choice === 'object' && choice?.port === found.path}
            isTaken={found.usedBy !== null && found.line === null}
            choose={() => choosePort(found)}
          />
        ))}
        {(['mqtt', 'tcp', 'modbus'] as const).map((one) => (
          <PlaceChoice
            key={one}
            title={words.places[one]}
            note={words.places[`${one}Note`]}
            isChosen={choice === one}
            isTaken={false}
            choose={() => setChoice(one)}
          />
        ))}
      </fieldset>
      {answer?.ok && ports.length === 0 && <p class="quiet">{words.noPorts}</p>}
      {typeof choice === 'object' && choice !== null && (
        <PortDetails key={choice.port} port={choice.port} line={choice.line} listen={listen} />
      )}
      {choice === 'mqtt' && <BrokerDetails listen={listen} />}
      {choice === 'tcp' && <BoxDetails listen={listen} />}
      {choice === 'modbus' && <ModbusDetails listen={listen} />}
    </section>
  );
}

interface PlaceChoiceProps {
  readonly title: string;
  readonly note: string;
  readonly isChosen: boolean;
  readonly isTaken: boolean;
  choose(): void;
}

function PlaceChoice({ title, note, isChosen, isTaken, choose }: PlaceChoiceProps) {
  return (
    <label class="choice">
      <input type="radio" name="place" checked={isChosen} disabled={isTaken} onChange={choose} />
      <span>
        <b>{title}</b>
        <span class="small place-note">{note}</span>
      </span>
    </label>
  );
}

/** Each change is listened to at once: there is nothing to lose. */
function PortDetails({ port, line, listen }: PlaceStepProps & Exclude<Chosen, string>) {
  const [speech, setSpeech] = useState<'lines' | 'modbus'>(line === null ? 'lines' : 'modbus');
  const [baud, setBaud] = useState<number>(line?.baud ?? BAUDS[0]);
  const [parity, setParity] = useState<'none' | 'even' | 'odd'>(line?.parity ?? 'none');
  const [unit, setUnit] = useState('1');
  const [register, setRegister] = useState('0');
  const [isUnclear, setUnclear] = useState(false);
  const go = (as: typeof speech, at: number, par: typeof parity, who: string, from: string): void => {
    const asked = registerAsked(who, from, 1, 247);
    setUnclear(as === 'modbus' && asked === null);
    if (as === 'lines') listen({ kind: 'serial', port, baud: at });
    else if (asked !== null) listen({ kind: 'modbus-rtu', port, baud: at, parity: par, ...asked });
  };
  return (
    <div class="details">
      {line === null && (
        <fieldset class="either" aria-label={words.speaks}>
          {(['lines', 'modbus'] as const).map((one) => (
            <button
              key={one}
              type="button"
              aria-pressed={speech === one}
              onClick={() => {
                setSpeech(one);
                go(one, baud, parity, unit, register);
              }}
            >
              {words.speech[one]}
            </button>
          ))}
        </fieldset>
      )}
      {line === null && (
        <Choice
          label={words.baud}
          value={String(baud)}
          options={BAUDS.map(String)}
          put={(text) => {
            setBaud(Number(text));
            go(speech, Number(text), parity, unit, register);
          }}
        />
      )}
      {speech === 'modbus' && (
        <>
          {line === null && (
            <Choice
              label={words.parity}
              value={parity}
              options={PARITIES}
              text={(one) => words.parities[one]}
              put={(next) => {
                setParity(next);
                go(speech, baud, next, unit, register);
              }}
            />
          )}
          <Field
            label={words.unit}
            value={unit}
            put={(next) => {
              setUnit(next);
              go(speech, baud, parity, next, register);
            }}
          />
          <Field
            label={words.register}
            value={register}
            put={(next) => {
              setRegister(next);
              go(speech, baud, parity, unit, next);
            }}
          />
        </>
      )}
      {isUnclear && (
        <p class="refusal whole-line" role="status">
          {words.registerUnclear}
        </p>
      )}
    </div>
  );
}

function BrokerDetails({ listen }: PlaceStepProps) {
  const [url, setUrl] = useState('mqtt://127.0.0.1:1883');
  const [version, setVersion] = useState<'3.1.1' | 5>('3.1.1');
  const [username, setUsername] = useState('');
  const [password, setPassword] = useState('');
  const [caFile, setCaFile] = useState('');
  const go = (): void =>
    listen({
      kind: 'mqtt',
      url,
      version,
      ...(username.trim() !== '' && { username }),
      // Pasted, it often brings a blank along.
      ...(username.trim() !== '' && password.trim() !== '' && { password: password.trim() }),
      ...(caFile.trim() !== '' && { caFile }),
    });
  return (
    <DetailForm go={go} missing={missingAddress(url)}>
      <Field label={words.url} value={url} put={setUrl} isWide />
      <Choice
        label={words.version}
        value={String(version)}
        options={['3.1.1', '5'] as const}
        put={(one) => setVersion(one === '5' ? 5 : '3.1.1')}
      />
      <Field label={words.username} value={username} put={setUsername} />
      {username !== '' && <Field label={words.password} value={password} put={setPassword} isSecret />}
      {url.trim().startsWith('mqtts:') && <Field label={words.caFile} value={caFile} put={setCaFile} isWide />}
    </DetailForm>
  );
}

function BoxDetails({ listen }: PlaceStepProps) {
  const [address, setAddress] = useState('');
  return (
    <DetailForm go={() => listen({ kind: 'tcp', address })} missing={missingAddress(address)}>
      <Field label={words.address} value={address} put={setAddress} example="192.168.1.20:4001" isWide />
    </DetailForm>
  );
}

function ModbusDetails({ listen }: PlaceStepProps) {
  const [address, setAddress] = useState('');
  const [unit, setUnit] = useState('1');
  const [register, setRegister] = useState('0');
  const asked = registerAsked(unit, register, 0, 255);
  const go = (): void => {
    if (asked !== null) listen({ kind: 'modbus-tcp', address, ...asked });
  };
  return (
    <DetailForm go={go} missing={missingAddress(address) ?? (asked === null ? words.registerUnclear : null)}>
      <Field label={words.address} value={address} put={setAddress} example="192.168.1.20:502" isWide />
      <Field label={words.unit} value={unit} put={setUnit} />
      <Field label={words.register} value={register} put={setRegister} />
    </DetailForm>
  );
}

interface DetailFormProps {
  /** What has to be written first. */
  readonly missing: string | null;
  readonly children: preact.ComponentChildren;
  go(): void;
}

function DetailForm({ missing, children, go }: DetailFormProps) {
  const [isTold, setTold] = useState(false);
  return (
    <form
      class="details"
      onSubmit={(event) => {
        event.preventDefault();
        setTold(missing !== null);
        if (missing === null) go();
      }}
    >
      {children}
      <button type="submit" class="listen">
        {words.listen}
      </button>
      {isTold && missing !== null && (
        <p class="refusal whole-line" role="status">
          {missing}
        </p>
      )}
    </form>
  );
}

function missingAddress(address: string): string | null {
  return address.trim() === '' ? words.addressMissing : null;
}

/** @returns null where one of them is no such number */
function registerAsked(unit: string, register: string, from: number, to: number) {
  const [who, first] = [unit, register].map((text) => (/^\d{1,5}$/.test(text.trim()) ? Number(text) : Number.NaN));
  if (who === undefined || first === undefined || !(who >= from && who <= to && first <= 65_535)) return null;
  return { unit: who, register: first };
}
