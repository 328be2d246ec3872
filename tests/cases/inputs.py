# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""The inputs of the bad-input table, made on the spot: each function writes one under the path it is given."""
import math
import os
import random
import struct
import subprocess

RATE_HZ = 4000


def wav(path, samples, rate_hz=RATE_HZ, channels=1):
    """16-bit PCM; samples in -1 .. 1, interleaved."""
    data = b''.join(struct.pack('<h', max(-32768, min(32767, round(32767 * s)))) for s in samples)
    head = struct.pack('<HHIIHH', 1, channels, rate_hz, min(2**32 - 1, rate_hz * 2 * channels), 2 * channels, 16)
    body = b'WAVEfmt ' + struct.pack('<I', 16) + head + b'data' + struct.pack('<I', len(data)) + data
    with open(path, 'wb') as f:
        f.write(b'RIFF' + struct.pack('<I', len(body)) + body)


def float_wav(path, samples, rate_hz=RATE_HZ):
    data = struct.pack(f'<{len(samples)}f', *samples)
    head = struct.pack('<HHIIHH', 3, 1, rate_hz, 4 * rate_hz, 4, 32)
    body = b'WAVEfmt ' + struct.pack('<I', 16) + head + b'data' + struct.pack('<I', len(data)) + data
    with open(path, 'wb') as f:
        f.write(b'RIFF' + struct.pack('<I', len(body)) + body)


def raw(path, data):
    with open(path, 'wb') as f:
        f.write(data)


def read_wav(path):
    """Samples of a 16-bit mono file that synth wrote."""
    with open(path, 'rb') as f:
        data = f.read()
    at = data.index(b'data')
    n = struct.unpack_from('<I', data, at + 4)[0] // 2
    return [s / 32768 for s in struct.unpack_from(f'<{n}h', data, at + 8)]


def bell(rng):
    return rng.gauss(0, 0.1)


def white(seconds, seed):
    rng = random.Random(seed)
    return [bell(rng) for _ in range(int(seconds * RATE_HZ))]


def pink(seconds, seed):
    """Voss: sums of noises held for 1, 2, 4, ... samples."""
    rng = random.Random(seed)
    rows = [bell(rng) for _ in range(12)]
    out = []
    for i in range(int(seconds * RATE_HZ)):
        low = (i & -i).bit_length() - 1 if i else 0
        rows[min(low, 11)] = bell(rng)
        out.append(0.6 * sum(rows))
    return out


def tone(seconds, hz):
    return [0.3 * math.sin(2 * math.pi * hz * i / RATE_HZ) for i in range(int(seconds * RATE_HZ))]


def metronome(seconds, per_minute):
    """Short knocks of one kind in even steps over a little noise."""
    rng = random.Random(per_minute)
    out = [0.02 * bell(rng) for _ in range(int(seconds * RATE_HZ))]
    every = 60 / per_minute
    at = 0.2
    while at < seconds - 0.1:
        first = int(at * RATE_HZ)
        for i in range(int(0.06 * RATE_HZ)):
            out[first + i] += 0.6 * math.exp(-i / (0.012 * RATE_HZ)) * math.sin(2 * math.pi * 90 * i / RATE_HZ)
        at += every
    return out


class Maker:
    """Makes a named input in a folder; a heart comes from girthline synth itself."""

    def __init__(self, girthline, folder):
        self.girthline = girthline
        self.folder = folder

    def heart(self):
        path = os.path.join(self.folder, 'heart.wav')
        if not os.path.exists(path):
            subprocess.run([self.girthline, 'synth', path, '--bpm', '36', '--seconds', '30', '--rate-hz', str(RATE_HZ), '--seed', '7'],
                           check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        return path

    def make(self, recipe, path):
        """recipe: a word and its arguments."""
        word, *args = recipe.split()
        getattr(self, 'make_' + word.replace('-', '_'))(path, *args)

    def make_missing(self, path):
        pass

    def make_folder(self, path):
        os.mkdir(path)

    def make_empty(self, path):
        raw(path, b'')

    def make_text(self, path):
        raw(path, b'Bella, mare, 12 years, left side, quiet.\n')

    def make_m4a(self, path):
        raw(path, struct.pack('>I', 32) + b'ftypM4A ' + bytes(4) + b'M4A mp42isom' + bytes(8) + random.Random(1).randbytes(3000))

    def make_mp4(self, path):
        raw(path, struct.pack('>I', 24) + b'ftypmp42' + bytes(4) + b'mp42isom' + random.Random(1).randbytes(3000))

    def make_aac(self, path):
        raw(path, bytes.fromhex('fff150801ffffc') + random.Random(2).randbytes(3000))

    def make_zero_length(self, path):
        wav(path, [])

    def make_truncated(self, path):
        with open(self.heart(), 'rb') as f:
            data = f.read()
        raw(path, data[:len(data) * 7 // 10 + 1])

    def make_header_cut(self, path):
        with open(self.heart(), 'rb') as f:
            raw(path, f.read(20))

    def make_silence(self, path):
        wav(path, [0] * 20 * RATE_HZ)

    def make_white(self, path, seed='1'):
        wav(path, white(30, int(seed)))

    def make_pink(self, path, seed='1'):
        wav(path, pink(30, int(seed)))

    def make_tone(self, path, hz):
        wav(path, tone(20, float(hz)))

    def make_metronome(self, path, per_minute):
        wav(path, metronome(30, int(per_minute)))

    def make_all_nan(self, path):
        float_wav(path, [math.nan] * 10 * RATE_HZ)

    def make_some_nan(self, path):
        samples = read_wav(self.heart())
        for i in range(5 * RATE_HZ, 5 * RATE_HZ + 400):
            samples[i] = math.nan
        samples[9 * RATE_HZ] = math.inf
        float_wav(path, samples)

    def make_one_second(self, path):
        wav(path, read_wav(self.heart())[:RATE_HZ])

    def make_one_sample(self, path):
        wav(path, [0.5])

    def make_heart(self, path):
        wav(path, read_wav(self.heart()))

    def make_second_channel(self, path):
        wav(path, [v for s in read_wav(self.heart()) for v in (0, s)], channels=2)

    def make_opposite(self, path):
        wav(path, [v for s in read_wav(self.heart()) for v in (s, -s)], channels=2)

    def make_rate(self, path, hz):
        wav(path, white(1, 1), rate_hz=int(hz))

    def make_hours(self, path, hours):
        """Silence of 8 bits at 1000 Hz, as a file with a hole in it: it takes no room."""
        n = int(float(hours) * 3600) * 1000
        raw(path, struct.pack('<4sI8sIHHIIHH4sI', b'RIFF', n + 36, b'WAVEfmt ', 16, 1, 1, 1000, 1000, 1, 8, b'data', n))
        os.truncate(path, 44 + n)
