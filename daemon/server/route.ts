/** One address that is answered. */
import type { FastifyReply, FastifyRequest } from 'fastify';

export type Method = 'GET' | 'POST' | 'PUT';
export type Answer = (request: FastifyRequest, reply: FastifyReply) => unknown;

export interface Route {
  readonly method: Method;
  readonly url: string;
  /** Refused from the network: it would steer the firing. */
  readonly commands?: true;
  /** Takes a picture as its body, of at most so many bytes. */
  readonly pictureBytes?: number;
  readonly answer: Answer;
}
