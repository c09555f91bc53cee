#!/usr/bin/env node
/**
 * The command line. Each command answers with the exit code of `interfaces`: 0 well, 1 bad, 2 wrong input, 3 incomplete.
 * A command's code is loaded as it is called: a replay needs no web server.
 */
import { Command, CommanderError } from 'commander';
import { dataDir } from './config/data-dir.ts';
import { DaemonError } from './errors.ts';
import { SOFTWARE, VERSION } from './runtime/software.ts';

const print = (line: string): void => {
  process.stdout.write(`${line}\n`);
};
const complain = (sentence: string): void => {
  process.stderr.write(`${sentence}\n`);
};

const DATA = ['--data <folder>', 'where firings are kept (else SPYHOLE_DATA, else the home folder)'] as const;

function commandLine(setCode: (code: number) => void): Command {
  const program = new Command('spyhole')
    .description('Watches a kiln for someone who is in another room. It is no safety device.')
    .version(VERSION)
    .exitOverride()
    .configureOutput({
      writeErr: (text) =>
        complain(
          text
            .trim()
            .replace(/^error: /, '')
            .replace(/\n(?=\(Did you mean)/, ' '),
        ),
    });
  program
    .command('watch')
    .description('start the watch and stay')
    .option(
      '--config <file>',
      'the YAML file that names your kilns (spyhole.yaml in the data folder; at the first start the page makes it)',
    )
    .option(...DATA)
    .option('--listen <host:port>', 'where the page is served (127.0.0.1:4660)')
    .action(async (options) => (await import('./commands/watch.ts')).watch(options, print));
  program
    .command('replay')
    .description('say what would have been said about a recorded curve or firing')
    .option('--schedule <file>', 'the plan of the firing')
    .option('--readings <file>', 'a CSV: time,sensor,celsius[,lid]')
    .option('--kiln <file>', 'the kiln, as in the configuration')
    .option('--firing <folder>', 'a recorded firing instead')
    .option('--json', 'one JSON object a line')
    .action(async (options) => (await import('./commands/replay.ts')).replay(options, print));
  program
    .command('verify')
    .description('whether a record stands as it was written')
    .argument('[path]', "a firing's folder, a record file, or a firing's id")
    .option('--all', 'every firing in the data folder, and the ledger')
    .option('--key <fingerprint>', 'the key that you know from elsewhere')
    .option('--seal <seal>', 'a seal that you have kept, as a report or the page Proof shows it')
    .option(...DATA)
    .action(
      async (path: string | undefined, options: { all?: boolean; data?: string; key?: string; seal?: string }) => {
        const target = options.all === true ? '--all' : path;
        if (target === undefined) throw new DaemonError('usage', 'verify: name a firing, or write --all.');
        const { key, seal } = options;
        const { verify } = await import('./commands/verify.ts');
        setCode(await verify(target, dataDir(options.data, process.env), print, complain, { key, seal }));
      },
    );
  program
    .command('export')
    .description('a firing in one zip with its report and a checker; or the report (.pdf) or the readings (.csv) alone')
    .argument('<id>', "a firing's id")
    .requiredOption('--out <file>', 'a name that ends in .zip, .pdf or .csv')
    .option(...DATA)
    .action(async (id: string, options: { out: string; data?: string }) => {
      const { exportFiring } = await import('./commands/export.ts');
      await exportFiring(dataDir(options.data, process.env), id, options.out, print);
    });
  program
    .command('keys')
    .description('the fingerprint of the key that signs the records')
    .option('--new', 'make a new key, signed for by the present one; the watch must not run meanwhile')
    .option(...DATA)
    .action(async (options: { new?: boolean; data?: string }) => {
      const { keys } = await import('./commands/keys.ts');
      await keys(dataDir(options.data, process.env), options.new === true, print);
    });
  program
    .command('put-back')
    .description('say that the records were put back from an older copy on purpose; the watch must not run meanwhile')
    .requiredOption('--by <name>', 'who says so')
    .requiredOption('--why <words>', 'why, for whoever checks the records')
    .option('--config <file>', 'the file that the watch is started with, if it names a sealsFolder')
    .option(...DATA)
    .action(async (options) => (await import('./commands/put-back.ts')).putBack(options, print));
  program
    .command('listen')
    .description(
      'what a port, a broker or an instrument says, with every way to read it; and write the kiln that you pick',
    )
    .option('--port <device>', 'a serial port that prints lines; without any place the ports are listed')
    .option('--tcp <host:port>', 'a box in the network that prints lines')
    .option('--mqtt <url>', 'a broker: mqtt://HOST:1883 or mqtts://HOST:8883')
    .option(
      '--modbus-rtu <device>',
      'a line with an instrument on Modbus, or HOST:PORT of a box that hands the bytes on',
    )
    .option('--modbus-tcp <host:port>', 'an instrument on Modbus in the network')
    .option('--baud <number>', 'of a serial port (9600)')
    .option('--parity <none|even|odd>', 'of a Modbus line (none)')
    .option('--unit <number>', 'number of the instrument on Modbus (1)')
    .option('--register <number>', 'the first register to look at (0)')
    .option('--mqtt-version <version>', '3.1.1 or 5 (3.1.1)')
    .option('--username <name>', 'at the broker')
    .option('--password-file <file>', 'that holds the password')
    .option('--ca-file <file>', 'certificate of the authority that the broker is signed by')
    .option('--seconds <number>', 'how long to listen (10)')
    .option(
      '--pick <sensor=place / way...>',
      'what feeds a sensor, as the list names it; with :S behind the sensor for type S',
    )
    .option('--name <name>', "the kiln's name")
    .option('--heat <gas|electric>', 'how it is heated')
    .option('--closure <lid|door>', 'how it opens')
    .option('--config <file>', 'write the kiln into this configuration; without it, it is printed')
    .action(async (options) => setCode(await (await import('./commands/listen.ts')).listen(options, print, complain)));
  program
    .command('check-schedule')
    .description('name every fault of a schedule, and what would be right')
    .argument('<file>')
    .action(async (file: string) => setCode((await import('./commands/check-schedule.ts')).checkSchedule(file, print)));
  program
    .command('fit')
    .description('learn the ways of your kiln from recorded firings, and keep them in a file of its own')
    .option('--schedule <file...>', 'the plan of each firing, or one for all')
    .option('--readings <file...>', 'a CSV for each firing: time,sensor,celsius[,lid]')
    .option('--inputs <file...>', 'a CSV for each firing: time,input,value with the heat that was on (- for none)')
    .option('--acts <file...>', 'a CSV for each firing: time,what,value as the hand logged it (- for none)')
    .option('--firing <folder...>', 'recorded firings instead')
    .option('--kiln <file>', 'the kiln, as in the configuration')
    .option('--heat <name>', 'which input is the heat')
    .option('--full <number>', 'its figure, or the mark of the valve, at full heat (else the largest seen)')
    .requiredOption('--out <file>', "the kiln's own file; firings that it names already are fitted again with the new")
    .action(async (options) => (await import('./commands/fit.ts')).fitFirings(options, print, Date.now()));
  program
    .command('rehearse')
    .description('what a schedule would do in your kiln, and when someone must be there')
    .requiredOption('--schedule <file>', 'the plan')
    .requiredOption('--fitted <file>', "the kiln's own file, made by spyhole fit")
    .option('--kiln <file>', 'the kiln, as in the configuration')
    .option('--starts <HH:MM>', 'when it is to begin (now)')
    .option('--json', 'one JSON object')
    .action(async (options) => (await import('./commands/rehearse.ts')).rehearse(options, print, Date.now()));
  // The sentence of a wrong option is enough; the way to the full help is `spyhole help`.
  for (const command of program.commands) command.exitOverride().copyInheritedSettings(program);
  return program;
}

async function main(): Promise<number> {
  let code = 0;
  const program = commandLine((found) => {
    code = found;
  });
  try {
    await program.parseAsync();
    return code;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : 2;
    if (error instanceof DaemonError) {
      complain(error.message);
      return 2;
    }
    throw error;
  }
}

/** The last resort: one sentence instead of a stack trace. Whoever keeps the daemon running starts it again. */
function lastResort(error: unknown): void {
  const what = error instanceof Error ? error.message : String(error);
  complain(`${SOFTWARE} failed and stops: ${what}. Start it again; the firing goes on where it was.`);
  if (process.env.SPYHOLE_TRACE !== undefined && error instanceof Error) complain(error.stack ?? '');
  process.exit(70);
}

process.on('uncaughtException', lastResort);
process.on('unhandledRejection', lastResort);
// A reader that went away (`spyhole replay … | head`) is no failure.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
  process.exit(0);
});
// A watch whose log nobody reads any more watches on.
process.stderr.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
});

process.exitCode = await main();
