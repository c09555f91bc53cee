/** The parts of the live messages by their own names; the page knows the daemon only by what goes over the wire. */
import type {
  AlertMessage,
  BeforeLighting,
  Calendar,
  Curve,
  FiringDetail,
  ForecastMessage,
  KilnNow,
  PositionMessage,
} from '../daemon/wire/live-messages.ts';

export type Schedule = NonNullable<FiringDetail['schedule']>;
export type ActEvent = FiringDetail['acts'][number];
export type AlertEvent = FiringDetail['alertList'][number];
export type GapEvent = FiringDetail['gaps'][number];
export type AlertKind = AlertMessage['alert'];
export type Heat = KilnNow['heat'];
export type Phase = AlertMessage['phase'];
export type Priority = AlertMessage['priority'];
export type Call = PositionMessage['calls'][number];
export type SignWord = KilnNow['sign']['word'];
export type Couples = BeforeLighting['couples'];
export type HandsEntry = Calendar['hands'][number];
export type PlanPoint = Curve['plan'][number];
export type ForecastPoint = ForecastMessage['points'][number];
