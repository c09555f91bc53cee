/** Keys, seals and verdicts: what the records can prove. They trouble nobody elsewhere. */
import type { Proof } from '../daemon/wire/live-messages.ts';
import { stampWords, verdictWords } from '../daemon/wire/proof-words.ts';
import { api } from './api.ts';
import type { Dashboard } from './dashboard-state.ts';
import { dateOf, timeOfDay } from './format.ts';
import { proof as words } from './record-wording.ts';
import { address } from './route.ts';
import { useAnswer } from './use-answer.ts';
import { firings as firingWords } from './wording.ts';

interface ProofPageProps {
  readonly firing: string | null;
  readonly dashboard: Dashboard;
}

export function ProofPage({ firing, dashboard }: ProofPageProps) {
  return (
    <div class="sheet firing proof">
      <p>
        <a class="back" href={firing === null ? address.firings : address.firing(firing)}>
          {firing === null ? firingWords.back : words.backToFiring}
        </a>
      </p>
      {firing === null ? <WorkshopProof /> : <ProofOfFiring id={firing} dashboard={dashboard} />}
    </div>
  );
}

function WorkshopProof() {
  const answer = useAnswer('proof', api.workshopProof);
  if (answer === null) return <h1>{words.title}</h1>;
  if (!answer.ok) return <p class="refusal">{answer.sentence}</p>;
  const { key, ledger, broken, firingCount } = answer.value;
  return (
    <>
      <h1>{words.title}</h1>
      <p class="lead">{words.lead}</p>
      <dl class="figures-list">
        <dt>{words.key}</dt>
        <dd class="fingerprint">{key ?? words.noKey}</dd>
        <dt>{words.ledger}</dt>
        <dd>
          {ledger.verdict}: {ledger.sentence}
        </dd>
        <dt>{words.seal}</dt>
        <dd class="fingerprint">{ledger.head}</dd>
        <dt>{words.firings}</dt>
        <dd>{firingCount}</dd>
      </dl>
      <p>{words.giveAway}</p>
      {broken.length > 0 && (
        <>
          <h2>{words.broken}</h2>
          <ul>
            {broken.map(({ id, sentence }) => (
              <li key={id}>{sentence}</li>
            ))}
          </ul>
        </>
      )}
      <p class="quiet">{words.command}</p>
    </>
  );
}

function ProofOfFiring({ id, dashboard }: { readonly id: string; readonly dashboard: Dashboard }) {
  const answer = useAnswer(id, () => api.proof(id));
  return (
    <>
      <h1>{words.ofFiring(id)}</h1>
      {answer === null && <p class="quiet">{firingWords.loading}</p>}
      {answer?.ok === false && <p class="refusal">{answer.sentence}</p>}
      {answer?.ok && <Verdict proof={answer.value} utcOffsetMinutes={dashboard.snapshot.utcOffsetMinutes} />}
      <p class="quiet">{words.command}</p>
      <p>
        <a href={address.proof}>{words.ofAll}</a>
      </p>
    </>
  );
}

function Verdict({ proof, utcOffsetMinutes }: { readonly proof: Proof; readonly utcOffsetMinutes: number }) {
  const { line, lines, head, key, sealCount, sealedAtMs } = proof;
  const time = (atMs: number): string => `${dateOf(atMs, utcOffsetMinutes)}, ${timeOfDay(atMs, utcOffsetMinutes)}`;
  const stamped = stampWords(proof, time);
  return (
    <dl class="figures-list">
      <dt>{words.verdict}</dt>
      <dd>{verdictWords(proof)}</dd>
      {line !== null && (
        <>
          <dt>{words.line}</dt>
          <dd>{line}</dd>
        </>
      )}
      <dt>{words.lines}</dt>
      <dd>{lines}</dd>
      <dt>{words.seal}</dt>
      <dd class="fingerprint">{head}</dd>
      <dt>{words.key}</dt>
      {key === null ? <dd>{words.unsigned(proof.isOn)}</dd> : <dd class="fingerprint">{key}</dd>}
      <dt>{words.seals}</dt>
      <dd>{sealCount}</dd>
      {sealedAtMs !== null && (
        <>
          <dt>{words.signed}</dt>
          <dd>{time(sealedAtMs)}</dd>
        </>
      )}
      {stamped !== null && (
        <>
          <dt>{words.authority}</dt>
          <dd>
            {stamped} {proof.stamp !== null && <span class="small">{words.checkStamp(proof.stamp.seal)}</span>}
          </dd>
        </>
      )}
    </dl>
  );
}
