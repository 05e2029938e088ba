import { hostname } from 'node:os';
import { describe, expect, it } from 'vitest';
import { isLoopback, isOwnOrigin, ownOrigins } from '../../../gateway/http/origin.ts';

describe('the origins of this gateway', () => {
  it('on loopback are the three names of loopback', () => {
    expect([...ownOrigins({ host: '127.0.0.1', port: 8080 })]).toEqual([
      'http://127.0.0.1:8080',
      'http://localhost:8080',
      'http://[::1]:8080',
    ]);
  });

  it('leave out the default port, as browsers do', () => {
    expect(ownOrigins({ host: '127.0.0.1', port: 80 })).toContain('http://localhost');
  });

  it('on all addresses hold the names and addresses of this machine, nothing else', () => {
    const own = ownOrigins({ host: '0.0.0.0', port: 8080 });
    expect(own).toContain('http://127.0.0.1:8080');
    expect(own).toContain(`http://${hostname().toLowerCase()}:8080`);
    expect([...own].every((origin) => origin.endsWith(':8080'))).toBe(true);
  });

  it('hold the public address whole, without its path', () => {
    const own = ownOrigins({
      host: '10.1.2.3',
      port: 8080,
      publicUrl: 'https://glowfleet.quellmoor.example/wall',
      origins: ['http://localhost:5173'],
    });
    expect([...own]).toEqual(['http://10.1.2.3:8080', 'https://glowfleet.quellmoor.example', 'http://localhost:5173']);
  });

  it('are compared whole', () => {
    const own = ownOrigins({ host: '10.1.2.3', port: 8080 });
    expect(isOwnOrigin('http://10.1.2.3:8080', own)).toBe(true);
    for (const other of [
      undefined,
      '',
      'null',
      'http://10.1.2.3:8080/',
      'http://10.1.2.3:80800',
      'http://10.1.2.3:8080.evil.test',
      'http://x@10.1.2.3:8080',
      '*',
    ]) {
      expect(isOwnOrigin(other, own), other).toBe(false);
    }
  });

  it('loopback is told by the address, not by a name', () => {
    expect(['127.0.0.1', '127.9.9.9', '::1', '::ffff:127.0.0.1'].map(isLoopback)).toEqual([true, true, true, true]);
    expect([undefined, '10.0.0.1', '128.0.0.1', '127.0.0.1.evil.test', '::2', 'localhost'].map(isLoopback)).toEqual([
      false,
      false,
      false,
      false,
      false,
      false,
    ]);
  });
});
