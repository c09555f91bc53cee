/** Reads a scenario file and makes the firing of it. Every fault is named at once, with its line. */
import { existsSync, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { faultAt, schemaFaults } from '../daemon/config/faults.ts';
import { kilnFaults, parseKiln } from '../daemon/config/kiln-file.ts';
import { parseSchedule, readScheduleFile } from '../daemon/config/schedule-file.ts';
import { readYamlFile, type Source, sourceWithoutLines } from '../daemon/config/yaml-file.ts';
import { seededRandom } from '../daemon/core/numbers/seeded-random.ts';
import { type KilnSetup, rulingSensor } from '../daemon/core/plan/kiln.ts';
import { ConfigError, DaemonError, type Fault } from '../daemon/errors.ts';
import { type CoupleKindName, drawLag } from './couple-kinds.ts';
import { faults as catalogue, type NamedFault } from './faults/catalogue.ts';
import { weakened } from './faults/effect.ts';
import type { FiringScenario, Happening } from './firing-scenario.ts';
import { type KilnHabits, kilnHabits } from './kiln-habits.ts';
import { carefulOperator, type OperatorSpec } from './operator.ts';
import { feelOf } from './operator-feel.ts';
import { type ChangeFault, changed, type PlantSpec, plants } from './plants.ts';
import { decodingOfRows } from './row-decoding.ts';
import { type ScenarioData, scenarioSchema } from './scenario-schema.ts';
import type { CoupleSpec } from './thermocouple.ts';

/** The scenarios that come along, beside the source also when this runs as built. */
const SHIPPED = fileURLToPath(
  new URL(import.meta.url.includes('/dist/') ? '../../simulators/scenarios/' : './scenarios/', import.meta.url),
);

export function shippedScenarios(): readonly { readonly name: string; readonly what: string }[] {
  return readdirSync(SHIPPED)
    .filter((file) => file.endsWith('.yaml'))
    .sort()
    .map((file) => {
      const { value } = readYamlFile(join(SHIPPED, file));
      const what = typeof value === 'object' && value !== null && 'what' in value ? String(value.what) : '';
      return { name: file.slice(0, -'.yaml'.length), what };
    });
}

/**
 * @param named a file, or the name of a scenario that comes along
 * @throws ConfigError naming every fault; DaemonError where there is no such scenario
 */
export function readScenario(named: string): FiringScenario {
  const shipped = join(SHIPPED, `${named}.yaml`);
  if (/^[\w-]+$/.test(named) && existsSync(shipped)) return scenarioFrom(readYamlFile(shipped), dirname(shipped));
  if (!existsSync(named)) {
    throw new DaemonError(
      'usage',
      `${named}: there is no such scenario file; write --list to see those that come along.`,
    );
  }
  return scenarioFrom(readYamlFile(named), dirname(named));
}

/** @param file what to call it in the faults. @throws ConfigError naming every fault */
export function parseScenario(value: ScenarioData, file: string): FiringScenario {
  return scenarioFrom(sourceWithoutLines(value, file), '.');
}

function scenarioFrom(source: Source, folder: string): FiringScenario {
  const faults = schemaFaults(scenarioSchema, source);
  faults.push(...kilnFaults(source, ['kiln'], false));
  if (faults.length > 0) throw new ConfigError(source.file, faults);
  const data = scenarioSchema.parse(source.value);
  const { kiln: described } = parseKiln(data.kiln, source.file, { withInput: false });
  const schedule =
    typeof data.schedule === 'string'
      ? readScheduleFile(join(folder, data.schedule))
      : parseSchedule(data.schedule, source.file);
  const named = (data.happenings ?? []).flatMap((h) => ('fault' in h ? [catalogue[h.fault]] : [])).filter(isThere);
  const plant = plantOf(data, named, source, faults);
  faults.push(...placeFaults(data, described.sensors, plant, named, source));
  if (faults.length > 0) throw new ConfigError(source.file, faults);
  const sensors = data.couples.map((c) => c.sensor);
  const kiln: KilnSetup = {
    ...described,
    sampleS: described.sampleS ?? data.instrument.sampleS,
    utcOffsetMinutes: 0,
    decodings: decodingOfRows(sensors, data.lidSwitch ?? false),
  };
  const ruling = rulingSensor(kiln);
  const couples = (withFaults: readonly NamedFault[]): readonly CoupleSpec[] =>
    data.couples.map((c, i) => coupleOf(c, withFaults, ruling, data.seed + i));
  const usual: FiringScenario = {
    name: data.name,
    seed: data.seed,
    startedAtMs: Date.parse(data.startsAt),
    kiln,
    schedule,
    plant: plantOf(data, [], source, []),
    operator: operatorOf(data, [], plant),
    couples: couples([]),
    instrument: withoutGaps(data.instrument),
    lidSwitch: data.lidSwitch ?? false,
    glassHabitC: 0,
    happenings: [],
    endsAfterS: data.endsAfterH * 3600,
    ...(data.coolsForH !== undefined && { coolsForS: data.coolsForH * 3600 }),
  };
  const habits: KilnHabits = data.habits ?? kilnHabits({ ...usual, operator: withoutSlips(usual.operator) });
  return {
    ...usual,
    plant: trimmed(plant, habits.controllerOffC),
    operator: operatorOf(data, named, plant),
    couples: couples(named),
    glassHabitC: habits.glassC,
    happenings: happeningsOf(data),
  };
}

/** The owner has set the controller so that the ruling couple shows what the plan wants. */
function trimmed(plant: PlantSpec, offC: number): PlantSpec {
  if (plant.heat === 'gas') return plant;
  const { spec } = plant;
  return { heat: 'electric', spec: { ...spec, couple: { ...spec.couple, trimC: spec.couple.trimC + offC } } };
}

/** The same painter on a good day. */
function withoutSlips(operator: OperatorSpec): OperatorSpec {
  const { late: _late, leaves: _leaves, forgetsDoor: _door, forgetsGas: _gas, ...rest } = operator;
  return { ...rest, paceRatio: 1, endsHoldEarlyMinutes: 0 };
}

const isThere = (fault: NamedFault | undefined): fault is NamedFault => fault !== undefined;

function plantOf(data: ScenarioData, named: readonly NamedFault[], source: Source, faults: Fault[]): PlantSpec {
  const base = plants[data.plant.is] as PlantSpec;
  const wrong: ChangeFault[] = [];
  let spec = changed<unknown>(base.spec, data.plant.change, wrong, ['plant', 'change']);
  faults.push(...wrong.map(({ path, right }) => faultAt(source, path, right)));
  for (const fault of named) spec = changed(spec, fault.plant, []);
  return { heat: base.heat, spec } as PlantSpec;
}

/** What is well written by itself and does not fit together. */
function placeFaults(
  data: ScenarioData,
  sensors: KilnSetup['sensors'],
  plant: PlantSpec,
  named: readonly NamedFault[],
  source: Source,
): Fault[] {
  const names = sensors.map((s) => s.name);
  const strangers = data.couples.flatMap((c, i) =>
    names.includes(c.sensor)
      ? []
      : [faultAt(source, ['couples', i, 'sensor'], `the kiln's sensors are ${names.join(', ')}`)],
  );
  const unheard = names.flatMap((name) =>
    data.couples.some((c) => c.sensor === name)
      ? []
      : [faultAt(source, ['couples'], `write a couple for the sensor ${name} too`)],
  );
  const heat = (data.kiln as { heat?: unknown }).heat;
  const other =
    heat === plant.heat
      ? []
      : [faultAt(source, ['kiln', 'heat'], `write ${plant.heat}, as ${data.plant.is} is heated`)];
  const foreign = named
    .filter((fault) => fault.heat !== undefined && fault.heat !== plant.heat)
    .map((fault) => faultAt(source, ['happenings'], `"${fault.what}" happens to a kiln heated by ${fault.heat}`));
  return [...strangers, ...unheard, ...other, ...foreign];
}

function operatorOf(data: ScenarioData, named: readonly NamedFault[], plant: PlantSpec): OperatorSpec {
  const slips = Object.assign({}, ...named.map((fault) => fault.hand ?? {})) as Partial<OperatorSpec>;
  const isTold = data.operator?.holdMark !== undefined && data.operator.climbPerMarkCPerH !== undefined;
  const feel = plant.heat === 'gas' && !isTold ? feelOf(plant.spec) : {};
  const knows: OperatorSpec = { ...carefulOperator, ...feel };
  const off = data.feelRatio ?? 1;
  return {
    ...knows,
    holdMark: knows.holdMark * off,
    climbPerMarkCPerH: knows.climbPerMarkCPerH * off,
    ...withoutGaps(data.operator ?? {}),
    ...slips,
    ...ownSlips(data.operator ?? {}),
  };
}

/** What the file itself says of the hand's absences comes before what a fault brings along. */
function ownSlips({ late, leaves, forgetsGas }: NonNullable<ScenarioData['operator']>): Partial<OperatorSpec> {
  return withoutGaps({ late, leaves, forgetsGas });
}

/** Keys that are there and undefined would hide the usual ones. */
function withoutGaps<Group extends object>(group: Group): { [Key in keyof Group]: Exclude<Group[Key], undefined> } {
  return Object.fromEntries(Object.entries(group).filter(([, value]) => value !== undefined)) as {
    [Key in keyof Group]: Exclude<Group[Key], undefined>;
  };
}

/** A couple of its kind with lags drawn by the seed, then what the file says, then what a fault changes. */
function coupleOf(
  data: ScenarioData['couples'][number],
  named: readonly NamedFault[],
  ruling: string,
  seed: number,
): CoupleSpec {
  const { is, ...change } = data;
  const lag = is === undefined ? {} : drawLag(is as CoupleKindName, seededRandom(seed));
  const byFaults = Object.assign({}, ...named.map((f) => (data.sensor === ruling ? f.couple : undefined)));
  return { ...usualCouple, ...lag, ...withoutGaps(change), ...byFaults };
}

/** Over the shelf, half way up, read to a quarter of a degree. From memory. */
const usualCouple: Omit<CoupleSpec, 'sensor'> = {
  looksAt: { wall: 0.4, shelf: 0.3, glass: 0.3 },
  lagS: 60,
  noiseC: 0.2,
  stepC: 0.25,
  missedRatio: 0,
};

function happeningsOf(data: ScenarioData): readonly Happening[] {
  return (data.happenings ?? []).map((h): Happening => {
    if ('called' in h) return { called: h.called, when: h.when };
    const { brings, effects, when, forS } = catalogue[h.fault] as NamedFault;
    const lasts = h.forS ?? forS;
    return {
      brings,
      effects: effects.map((effect) => weakened(effect, h.strengthRatio ?? 1)),
      when: h.when ?? when,
      ...(lasts !== undefined && { forS: lasts }),
    };
  });
}
