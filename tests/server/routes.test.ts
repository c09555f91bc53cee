import type { FastifyInstance } from 'fastify';
import { beforeEach, describe, expect, it } from 'vitest';
import { buildApp } from '../../daemon/server/http-server.ts';
import { type ManualClock, manualClock } from '../support/manual-clock.ts';
import { type Moment, type ScriptedDesk, scriptedDesk } from '../support/scripted-desk.ts';

let desk: ScriptedDesk;
let app: FastifyInstance;
let logged: string[];
let clock: ManualClock;

function stand(moment: Moment): void {
  desk = scriptedDesk({ moment });
  logged = [];
  clock = manualClock(Date.UTC(2026, 10, 18, 12, 58));
  const options = {
    host: '0.0.0.0',
    port: 4660,
    hosts: ['kiln.example'],
    webDir: '',
    log: (sentence: string) => logged.push(sentence),
    clock,
  };
  app = buildApp(desk, options, new Map());
}

beforeEach(() => {
  stand('overshoot');
});

const host = 'localhost:4660';
const firing = (): string => desk.snapshot(true).kilns[0]?.firing?.id ?? '';
const alert = (): string => desk.snapshot(true).kilns[0]?.alerts[0]?.id ?? '';

interface Ask {
  readonly method?: 'GET' | 'HEAD' | 'POST' | 'PUT' | 'DELETE' | 'PATCH' | 'OPTIONS';
  readonly url: string;
  readonly body?: unknown;
  readonly headers?: Record<string, string>;
  readonly from?: string;
}

async function ask({ method = 'GET', url, body, headers = {}, from = '127.0.0.1' }: Ask) {
  const payload = body === undefined ? {} : { payload: typeof body === 'string' ? body : JSON.stringify(body) };
  const type = body === undefined ? {} : { 'content-type': 'application/json' };
  return app.inject({ method, url, ...payload, headers: { host, ...type, ...headers }, remoteAddress: from });
}

function expectError(answer: Awaited<ReturnType<typeof ask>>, status: number): void {
  expect(answer.statusCode).toBe(status);
  const { error } = answer.json<{ error: Record<string, unknown> }>();
  expect(Object.keys(error)).toEqual(['what', 'where', 'right']);
  for (const part of Object.values(error)) expect(part).toMatch(/\S/);
  expect(answer.body).not.toMatch(/\bat .*:\d+:\d+|node_modules|\.ts\b/);
}

describe('what can be read', () => {
  it('tells how the kilns stand', async () => {
    const answer = await ask({ url: '/api/state' });
    expect(answer.statusCode).toBe(200);
    expect(answer.json()).toEqual(JSON.parse(JSON.stringify(desk.snapshot(true))));
    expect(answer.headers['cache-control']).toBe('no-store');
  });

  it('lists the firings, newest first', async () => {
    const rows = (await ask({ url: '/api/firings' })).json<{ id: string; startedAtMs: number }[]>();
    expect(rows).toHaveLength(5);
    expect(rows[0]?.id).toBe(firing());
  });

  it('tells one firing, and its curve in as many points as asked for', async () => {
    const detail = await ask({ url: `/api/firings/${firing()}` });
    expect(detail.json()).toMatchObject({ id: firing(), kiln: 'gas' });
    const curve = (await ask({ url: `/api/firings/${firing()}/curve?points=50` })).json<{
      sensors: { upper: unknown[][] };
    }>();
    expect(curve.sensors.upper.flat().length).toBeGreaterThan(40);
    expect(curve.sensors.upper.flat().length).toBeLessThanOrEqual(50);
    expect((await ask({ url: `/api/firings/${firing()}/curve` })).statusCode).toBe(200);
  });

  it.each(['0', '1', '-5', 'many', '5001', '1e3', '', '12.5', '99999999'])(
    'does not draw a curve of "%s" points',
    async (points) => {
      expectError(await ask({ url: `/api/firings/${firing()}/curve?points=${points}` }), 400);
    },
  );

  it('tells the hands that a plan needs if it is lit now', async () => {
    const { hands, by } = (await ask({ url: '/api/kilns/gas/calendar?schedule=trace-and-matt' })).json<{
      hands: { do: string; fromMs: number | null; callAtMs: number | null }[];
      by: string;
    }>();
    expect(by).toBe('plan');
    const down = hands.find((one) => /turn.*down/.test(one.do));
    expect((down?.fromMs ?? 0) - desk.nowMs()).toBeGreaterThan(2 * 3_600_000);
    expect(down?.callAtMs).toBeLessThan(down?.fromMs ?? 0);
    expectError(await ask({ url: '/api/kilns/gas/calendar' }), 400);
    expectError(await ask({ url: '/api/kilns/gas/calendar?schedule=nothing' }), 404);
    expectError(await ask({ url: '/api/kilns/nothing/calendar?schedule=trace-and-matt' }), 404);
  });

  it('tells the list before lighting, and whether the couples agree with the room', async () => {
    stand('idle');
    const agree = (await ask({ url: '/api/kilns/gas/before-lighting?roomC=19.5' })).json();
    expect(agree).toMatchObject({ items: expect.arrayContaining([expect.any(String)]), couples: { agree: true } });
    const differ = (await ask({ url: '/api/kilns/gas/before-lighting?roomC=12' })).json();
    expect(differ).toMatchObject({ couples: { agree: false } });
    for (const roomC of ['warm', '-99', '1e3'])
      expectError(await ask({ url: `/api/kilns/gas/before-lighting?roomC=${roomC}` }), 400);
  });

  it('tells what the hand did last time, with the same plan in the same kiln', async () => {
    const { lastTime } = (await ask({ url: `/api/firings/${firing()}/last-time` })).json<{
      lastTime: { startedAtMs: number; acts: unknown[] };
    }>();
    expect(lastTime.startedAtMs).toBeLessThan(desk.nowMs() - 86_400_000);
    expect(lastTime.acts).toContainEqual(expect.objectContaining({ what: 'valve', value: 'mark 3', celsius: 648 }));
  });

  it('is healthy only while readings are being judged', async () => {
    expect((await ask({ url: '/health' })).statusCode).toBe(200);
    desk.setHealthy(false);
    expectError(await ask({ url: '/health' }), 503);
  });

  it.each([
    '/api/firings/nothing',
    '/api/firings/..%2f..%2fetc',
    '/api/firings/%2e%2e',
    '/api/firings/a%00b',
    '/api/firings/.hidden',
    '/api/firings/a%0ab/curve',
    `/api/firings/${'x'.repeat(300)}`,
  ])('knows no firing at %s', async (url) => {
    const asked: string[] = [];
    const { firing: answer, curve } = desk;
    desk.firing = (id) => {
      asked.push(id);
      return answer(id);
    };
    desk.curve = (id, points) => {
      asked.push(id);
      return curve(id, points);
    };
    expectError(await ask({ url }), 404);
    // Whoever looks for files never sees an id that could lead elsewhere.
    for (const id of asked) expect(id).toBe('nothing');
  });

  it('answers a garbled address with a sentence', async () => {
    expectError(await ask({ url: '/api/firings/%c0%' }), 400);
  });

  it('says that the live feed wants a WebSocket', async () => {
    expectError(await ask({ url: '/live' }), 426);
  });
});

describe('what a person does', () => {
  it('begins and ends a firing', async () => {
    stand('idle');
    const begun = await ask({ method: 'POST', url: '/api/firings', body: { kiln: 'gas', schedule: 'trace-and-matt' } });
    expect(begun.statusCode).toBe(201);
    expect(begun.json()).toEqual({ id: firing() });
    const ended = await ask({ method: 'POST', url: `/api/firings/${firing()}/end`, body: { by: 'Hanna' } });
    expect(ended.json()).toEqual({ ok: true });
    expect(firing()).toBe('');
  });

  it('gives a plan to a firing that has none', async () => {
    stand('no-plan');
    const given = await ask({
      method: 'PUT',
      url: `/api/firings/${firing()}/schedule`,
      body: { schedule: 'enamel-590' },
    });
    expect(given.statusCode).toBe(200);
    expect(desk.snapshot(true).kilns[0]?.firing?.schedule?.name).toBe('Enamel 590, 6 mm');
  });

  it('logs an act of the hand, with a value of letters or figures', async () => {
    for (const value of ['mark 3', 3]) {
      const body = { what: 'valve', value, by: ' Hanna ' };
      expect((await ask({ method: 'POST', url: `/api/firings/${firing()}/acts`, body })).statusCode).toBe(200);
    }
    const acts = (await desk.firing(firing())).acts.slice(-2);
    expect(acts).toMatchObject([
      { by: 'Hanna', what: 'valve', value: 'mark 3' },
      { by: 'Hanna', what: 'valve', value: '3' },
    ]);
  });

  it('sets right an act that was logged wrongly, by naming its instant', async () => {
    const wrong = { what: 'valve', value: 'mark 4', by: 'Ada' };
    await ask({ method: 'POST', url: `/api/firings/${firing()}/acts`, body: wrong });
    const atMs = (await desk.firing(firing())).acts.at(-1)?.atMs;
    const right = { what: 'valve', value: 'mark 3', by: 'Ada', correctsAtMs: atMs };
    expect((await ask({ method: 'POST', url: `/api/firings/${firing()}/acts`, body: right })).statusCode).toBe(200);
    expect((await desk.firing(firing())).acts.slice(-2)).toMatchObject([{ value: 'mark 4' }, { correctsAtMs: atMs }]);
  });

  it('files the list before lighting', async () => {
    const url = `/api/firings/${firing()}/list`;
    const items = [
      { text: 'Shelf dressed', isDone: true },
      { text: 'Stain side up', isDone: false },
    ];
    expect((await ask({ method: 'POST', url, body: { by: 'Ada', items, roomC: 18 } })).statusCode).toBe(200);
    expectError(await ask({ method: 'POST', url, body: { by: 'Ada', items: [{ text: '' }] } }), 400);
    expectError(await ask({ method: 'POST', url, body: { by: 'Ada', items: Array(50).fill(items[0]) } }), 400);
  });

  it('writes a note', async () => {
    const body = { by: 'Hanna', text: 'Even gloss.' };
    expect((await ask({ method: 'POST', url: `/api/firings/${firing()}/notes`, body })).statusCode).toBe(200);
    expect((await desk.firing(firing())).notes).toMatchObject([body]);
  });

  it('says that she has seen an alert, and two people may say it at once', async () => {
    const id = alert();
    const url = `/api/alerts/${encodeURIComponent(id)}/seen`;
    const answers = await Promise.all([
      ask({ method: 'POST', url, body: { by: 'Hanna' } }),
      ask({ method: 'POST', url, body: { by: 'Jo' } }),
    ]);
    expect(answers.map((answer) => answer.statusCode)).toEqual([200, 200]);
    expect(desk.snapshot(true).kilns[0]?.alerts[0]).toMatchObject({ life: 'seen', seenBy: 'Hanna' });
  });

  it('puts an alert aside for some minutes', async () => {
    const url = `/api/alerts/${alert()}/put-aside`;
    expect((await ask({ method: 'POST', url, body: { by: 'Hanna', minutes: 10 } })).statusCode).toBe(200);
    const put = desk.snapshot(true).kilns[0]?.alerts[0];
    expect(put).toMatchObject({ life: 'put-aside', putAsideUntilMs: desk.nowMs() + 600_000 });
  });

  it('switches a kind of alert off for this firing, with a reason, and on again', async () => {
    const url = `/api/firings/${firing()}/switch-off`;
    const body = { by: 'Hanna', alert: 'lid-open-hot', why: 'the switch is broken' };
    expect((await ask({ method: 'POST', url, body })).statusCode).toBe(200);
    expect(desk.snapshot(true).kilns[0]?.switchedOff).toMatchObject([body]);
    const on = { method: 'POST', url: `/api/firings/${firing()}/switch-on` } as const;
    expect((await ask({ ...on, body: { by: 'Hanna', alert: 'lid-open-hot' } })).statusCode).toBe(200);
    expect(desk.snapshot(true).kilns[0]?.switchedOff).toEqual([]);
  });

  it.each([
    [{ by: 'Hanna', alert: 'lid-open-hot' }, 'why'],
    [{ by: 'Hanna', alert: 'lid-open-hot', why: '' }, 'why'],
    [{ by: 'Hanna', alert: 'everything', why: 'too loud' }, 'alert'],
    [{ alert: 'lid-open-hot', why: 'too loud' }, 'by'],
  ])('switches nothing off for %j, because of %s', async (body, where) => {
    const answer = await ask({ method: 'POST', url: `/api/firings/${firing()}/switch-off`, body });
    expectError(answer, 400);
    expect(answer.json()).toMatchObject({ error: { where } });
    expect(desk.snapshot(true).kilns[0]?.switchedOff).toEqual([]);
  });

  it('says that all is well again after an alert that needs it', async () => {
    const url = `/api/alerts/${alert()}/reset`;
    expect((await ask({ method: 'POST', url, body: { by: 'Hanna' } })).statusCode).toBe(200);
    expectError(await ask({ method: 'POST', url, body: {} }), 400);
    expectError(await ask({ method: 'POST', url: '/api/alerts/nothing/reset', body: { by: 'Hanna' } }), 404);
  });
});

describe('what is refused, each time with what would be right', () => {
  it.each([
    [{ by: 'Hanna', minutes: 31 }, 'minutes'],
    [{ by: 'Hanna', minutes: 0 }, 'minutes'],
    [{ by: 'Hanna', minutes: 1.5 }, 'minutes'],
    [{ by: 'Hanna', minutes: '10' }, 'minutes'],
    [{ by: '', minutes: 10 }, 'by'],
    [{ by: 'x'.repeat(61), minutes: 10 }, 'by'],
    [{ minutes: 10 }, 'by'],
    [{ by: 'Hanna', minutes: 10, hours: 1 }, 'hours'],
    [{}, 'by, minutes'],
    [[], 'the body'],
    ['"ten"', 'the body'],
    ['null', 'the body'],
    ['{"by":', 'the body'],
    ['', 'the body'],
    ['{"by":"Hanna","minutes":10,"__proto__":{"a":1}}', 'the body'],
  ])('a body of %j, because of %s', async (body, where) => {
    const answer = await ask({ method: 'POST', url: `/api/alerts/${alert()}/put-aside`, body });
    expectError(answer, 400);
    expect(answer.json()).toMatchObject({ error: { where } });
  });

  it('an unknown kiln, firing, alert or schedule', async () => {
    expectError(await ask({ method: 'POST', url: '/api/firings', body: { kiln: 'attic' } }), 404);
    expectError(await ask({ method: 'POST', url: '/api/firings/nothing/end', body: {} }), 404);
    expectError(await ask({ method: 'POST', url: '/api/alerts/nothing/seen', body: { by: 'Hanna' } }), 404);
    const url = `/api/firings/${firing()}/schedule`;
    expectError(await ask({ method: 'PUT', url, body: { schedule: 'lunch' } }), 404);
    expectError(await ask({ method: 'PUT', url, body: { schedule: { name: 'no segments' } } }), 400);
  });

  it('a second firing in a kiln that is firing', async () => {
    expectError(await ask({ method: 'POST', url: '/api/firings', body: { kiln: 'gas' } }), 409);
  });

  it('a body that is too large', async () => {
    const body = { by: 'Hanna', text: 'x'.repeat(70_000) };
    expectError(await ask({ method: 'POST', url: `/api/firings/${firing()}/notes`, body }), 413);
  });

  it.each([
    ['DELETE', '/api/firings'],
    ['PATCH', '/api/state'],
    ['OPTIONS', '/api/firings'],
    ['POST', '/api/state'],
    ['PUT', '/health'],
    ['GET', '/api/alerts/x/seen'],
    ['GET', '/api/firings/x/end'],
    ['GET', '/api/firings/x/acts'],
  ] as const)('%s %s', async (method, url) => {
    const answer = await ask({ method, url, ...(method === 'GET' ? {} : { body: {} }) });
    expectError(answer, 405);
    expect(answer.headers.allow).toMatch(/GET|POST|PUT/);
    expect(answer.headers).not.toHaveProperty('access-control-allow-origin');
  });

  it.each([
    'text/plain',
    'application/x-www-form-urlencoded',
    'multipart/form-data; boundary=x',
    'application/jsonp',
    '',
  ])('a body that calls itself "%s"', async (type) => {
    const url = `/api/alerts/${alert()}/seen`;
    expectError(await ask({ method: 'POST', url, body: { by: 'Hanna' }, headers: { 'content-type': type } }), 415);
    expectError(await ask({ method: 'POST', url }), 415);
    expect(desk.snapshot(true).kilns[0]?.alerts[0]?.life).toBe('calling');
  });

  it('a fault of our own, without its inner workings', async () => {
    desk.firings = () => Promise.reject(new Error('read failed\nat secret (/home/x.ts:1:2)'));
    const answer = await ask({ url: '/api/firings' });
    expectError(answer, 500);
    expect(answer.body).not.toContain('secret');
    expect(logged).toEqual(['GET /api/firings failed: read failed·at secret (/home/x.ts:1:2).']);
  });
});

describe('no foreign page acts in the painter’s name', () => {
  const seen = (): Ask => ({ method: 'POST', url: `/api/alerts/${alert()}/seen`, body: { by: 'Hanna' } });

  it.each(['evil.example', 'localhost.evil.example:4660', 'localhost:4661', '203.0.113.9:4660'])(
    'answers nothing under the name %s',
    async (foreign) => {
      for (const url of ['/', '/api/state', '/health', '/nothing', '/mark.svg']) {
        expectError(await ask({ url, headers: { host: foreign } }), 421);
      }
      expect(logged[0]).toContain('Refused GET / from 127.0.0.1');
    },
  );

  it.each(['null', 'http://evil.example', 'http://localhost', 'http://localhost:3000', 'https://localhost:4660'])(
    'takes nothing from %s',
    async (origin) => {
      expectError(await ask({ ...seen(), headers: { origin } }), 403);
      expectError(await ask({ url: '/api/state', headers: { origin } }), 403);
      expect(desk.snapshot(true).kilns[0]?.alerts[0]?.life).toBe('calling');
    },
  );

  it('takes a deed from its own page', async () => {
    const headers = { origin: 'http://localhost:4660', 'sec-fetch-site': 'same-origin' };
    expect((await ask({ ...seen(), headers })).statusCode).toBe(200);
  });

  it.each(['cross-site', 'same-site'])('takes no deed that a %s page started', async (site) => {
    expectError(await ask({ ...seen(), headers: { 'sec-fetch-site': site } }), 403);
    expect((await ask({ url: '/api/state', headers: { 'sec-fetch-site': site } })).statusCode).toBe(200);
  });

  it('does not fill the log', async () => {
    for (let i = 0; i < 100; i++) await ask({ url: '/', headers: { host: 'evil.example' } });
    expect(logged).toHaveLength(20);
    clock.pass(60_000);
    await ask({ url: '/', headers: { host: 'evil.example' } });
    expect(logged.slice(20)).toEqual([
      '80 more requests were refused in the minute before.',
      expect.stringContaining('Refused GET /'),
    ]);
  });

  it('keeps line ends of a request out of the log', async () => {
    await ask({ url: '/%0aforged', headers: { host: 'evil.example' } });
    for (const line of logged) expect(line).not.toMatch(/[\r\n]/);
  });
});

describe('on the network', () => {
  const from = '192.168.1.30';

  it('the page is told that it may not command', async () => {
    expect((await ask({ url: '/api/state', from })).json()).toMatchObject({ mayCommand: false });
    expect((await ask({ url: '/api/state' })).json()).toMatchObject({ mayCommand: true });
    const proxied = await ask({ url: '/api/state', headers: { 'x-forwarded-for': from } });
    expect(proxied.json()).toMatchObject({ mayCommand: false });
  });

  it('a person can read, say that she has seen, put aside and log acts', async () => {
    const id = alert();
    const by = 'Hanna';
    for (const url of ['/api/firings', `/api/firings/${firing()}`, `/api/firings/${firing()}/curve`, '/health']) {
      expect((await ask({ url, from })).statusCode).toBe(200);
    }
    const deeds = [
      { url: `/api/firings/${firing()}/acts`, body: { what: 'valve', by } },
      { url: `/api/alerts/${id}/put-aside`, body: { by, minutes: 5 } },
      { url: `/api/alerts/${id}/seen`, body: { by } },
    ];
    for (const deed of deeds) expect((await ask({ method: 'POST', ...deed, from })).statusCode).toBe(200);
  });

  it('a stuck button does not fill the record', async () => {
    const press = (at = from) =>
      ask({ method: 'POST', url: `/api/firings/${firing()}/acts`, body: { what: 'valve', by: 'Hanna' }, from: at });
    for (let i = 0; i < 60; i++) expect((await press()).statusCode).toBe(200);
    expectError(await press(), 429);
    const url = `/api/alerts/${alert()}/seen`;
    expect((await ask({ method: 'POST', url, body: { by: 'Jo' }, from: '192.168.1.31' })).statusCode).toBe(200);
    for (let i = 0; i < 61; i++) expect((await press('127.0.0.1')).statusCode).toBe(200);
    clock.pass(60_000);
    expect((await press()).statusCode).toBe(200);
  });

  it('nobody begins, ends, plans or annotates a firing', async () => {
    const before = JSON.stringify(desk.snapshot(true));
    const commands = [
      { method: 'POST', url: '/api/firings', body: { kiln: 'electric' } },
      { method: 'POST', url: `/api/firings/${firing()}/end`, body: {} },
      { method: 'POST', url: `/api/firings/${firing()}/notes`, body: { by: 'Hanna', text: 'x' } },
      {
        method: 'POST',
        url: `/api/firings/${firing()}/switch-off`,
        body: { by: 'x', alert: 'silence', why: 'too loud' },
      },
      { method: 'POST', url: `/api/firings/${firing()}/switch-on`, body: { by: 'x', alert: 'silence' } },
      { method: 'PUT', url: `/api/firings/${firing()}/schedule`, body: { schedule: 'enamel-590' } },
    ] as const;
    for (const command of commands) {
      expectError(await ask({ ...command, from }), 403);
      expectError(await ask({ ...command, from, headers: { 'x-forwarded-for': '127.0.0.1' } }), 403);
      expectError(await ask({ ...command, headers: { 'x-forwarded-for': from } }), 403);
      expectError(await ask({ ...command, headers: { host: 'kiln.example' } }), 403);
    }
    expect(JSON.stringify(desk.snapshot(true))).toBe(before);
  });
});

describe('every answer', () => {
  it.each(['/', '/api/state', '/api/firings', '/health', '/nothing', '/api/firings/%c0%', '/live'])(
    '%s carries the headers that keep a browser safe',
    async (url) => {
      for (const named of [host, 'evil.example']) {
        const { headers } = await ask({ url, headers: { host: named } });
        expect(headers['content-security-policy']).toContain("default-src 'self'");
        expect(headers['content-security-policy']).not.toContain('unsafe');
        expect(headers['content-security-policy']).toContain("frame-ancestors 'none'");
        expect(headers['x-content-type-options']).toBe('nosniff');
        expect(headers['referrer-policy']).toBe('no-referrer');
        expect(headers).not.toHaveProperty('access-control-allow-origin');
      }
    },
  );
});
