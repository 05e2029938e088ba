/**
 * As whom we read a server: nobody in particular, a user by name and password, or a user by certificate. Secrets come from files or the
 * environment at each attempt to connect and are in no text of ours. A password goes out only encrypted: by the channel, or by its own token
 * for a certificate that is trusted.
 */
import { createPrivateKey, X509Certificate } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { MessageSecurityMode, UserTokenType } from 'node-opcua';
import type { OPCUACertificateManager, OPCUAClient, UserIdentityInfo } from 'node-opcua';
import { Fault } from '../../src/fault.ts';
import type { ServerPart } from './client.ts';

export type Environment = Readonly<Record<string, string | undefined>>;

export async function identityOf({ name: server, user }: ServerPart, environment: Environment = process.env): Promise<UserIdentityInfo> {
  if (user === undefined) return { type: UserTokenType.Anonymous };
  if ('certificateFile' in user) return certificateIdentity(server, user);
  const password = 'passwordFile' in user ? await secretFile(server, user.passwordFile) : environment[user.passwordEnv];
  if (password === undefined || password === '') {
    const where = 'passwordFile' in user ? `the file ${user.passwordFile}` : `the environment variable ${user.passwordEnv}`;
    throw new Fault('unavailable', `The password of user ${user.name} at ${server} is empty: put it into ${where} and start again.`);
  }
  return { type: UserTokenType.UserName, userName: user.name, password };
}

/** One line end belongs to the editor, not to the password. */
const secretFile = async (server: string, file: string): Promise<string> =>
  (await content(server, file)).toString('utf8').replace(/\r?\n$/, '');

async function content(server: string, file: string): Promise<Buffer> {
  return readFile(file).catch((error: NodeJS.ErrnoException) => {
    const cure = 'Put it there, readable for this program, or correct its name in the site file.';
    throw new Fault('unreadable', `The file ${file} for the user of ${server} cannot be read (${error.code ?? 'unknown reason'}). ${cure}`);
  });
}

type CertificateUser = Extract<NonNullable<ServerPart['user']>, { certificateFile: string }>;

async function certificateIdentity(server: string, { certificateFile, privateKeyFile }: CertificateUser): Promise<UserIdentityInfo> {
  const [certificate, key] = [await content(server, certificateFile), await content(server, privateKeyFile)];
  const cure = 'Give both as PEM files, the key without a passphrase.';
  try {
    const parsed = new X509Certificate(certificate);
    const privateKey = createPrivateKey(key);
    if (parsed.checkPrivateKey(privateKey)) {
      const pem = privateKey.export({ type: 'pkcs8', format: 'pem' }).toString();
      return { type: UserTokenType.Certificate, certificateData: parsed.raw, privateKey: pem };
    }
  } catch {
    // The parser's own text may quote what it read, and it read a key.
    throw new Fault(
      'invalid',
      `${certificateFile} and ${privateKeyFile} for ${server} are no certificate and key that can be used. ${cure}`,
    );
  }
  throw new Fault(
    'invalid',
    `The key in ${privateKeyFile} does not belong to the certificate in ${certificateFile}, for ${server}. ${cure}`,
  );
}

type Token = { readonly userIdentityToken: unknown };
type TokenMaker = (
  context: { serverCertificate: Buffer | null },
  user: UserIdentityInfo,
  done: (error: Error | null, token?: Token) => void,
) => void;

/**
 * Looks at every token before it is sent, at the first log-in and at those that the library makes by itself after a break. The library would
 * send a password in the clear where a server offers it so, or shows no certificate (node-opcua 2.186, createUserNameIdentityToken).
 */
export function guardPassword(client: OPCUAClient, server: ServerPart, certificates: OPCUACertificateManager): void {
  const guarded = client as unknown as { createUserIdentityToken?: TokenMaker };
  const make = guarded.createUserIdentityToken?.bind(client);
  if (make === undefined) throw new Error('the library makes user tokens elsewhere; a password could not be guarded');
  guarded.createUserIdentityToken = (context, user, done) => {
    make(context, user, (error, token) => {
      if (error || token === undefined || user.type !== UserTokenType.UserName) return done(error, token);
      refusalOf(client, { server, certificates, context, token }).then(
        (refusal) => (refusal === null ? done(null, token) : done(refusal)),
        (failure: unknown) => done(failure as Error),
      );
    });
  };
}

type Sending = {
  readonly server: ServerPart;
  readonly certificates: OPCUACertificateManager;
  readonly context: { readonly serverCertificate: Buffer | null };
  readonly token: Token;
};

async function refusalOf(
  client: OPCUAClient,
  { server: { name, security }, certificates, context, token }: Sending,
): Promise<Error | null> {
  if (client.securityMode === MessageSecurityMode.SignAndEncrypt) return null;
  const { encryptionAlgorithm } = token.userIdentityToken as { encryptionAlgorithm: string | null };
  const cure = 'Set security of this server to sign-and-encrypt in the site file.';
  if (!encryptionAlgorithm)
    return new Fault('forbidden', `${name} wants the password in the clear over security ${security}; it was not sent. ${cure}`);
  if (client.securityMode !== MessageSecurityMode.None) return null;
  // Without security nobody has checked who is at the other end: a password may be encrypted for a known certificate only.
  const status = await certificates.checkCertificate(context.serverCertificate ?? Buffer.alloc(0));
  return status.isGood() ? null : new Error(`server Certificate verification failed with err ${status.name}`);
}
