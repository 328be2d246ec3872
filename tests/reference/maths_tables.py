# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""maths_tables.py: writes src/base/maths_tables.h, the tables of gn_exp and gn_log, from 40 digits each."""
import decimal

decimal.getcontext().prec = 40
FIRST = 91  # 128ths: the first node, 0.7109375, is the one next above sqrt(1/2)


def rows(values, width):
    texts = [f'{float(v).hex()}' for v in values]
    return '\n'.join('  ' + ', '.join(texts[i:i + width]) + ',' for i in range(0, len(texts), width))


def nodes():
    """64 nodes from 0.7109375 on: 128ths below 1, 64ths from 1 on."""
    return [decimal.Decimal(n) / 128 for n in range(FIRST, 128)] + [decimal.Decimal(n) / 64 for n in range(64, FIRST)]


powers = [(decimal.Decimal(2).ln() * j / 32).exp() for j in range(32)]
pairs = [v for z in nodes() for v in (1 / z, z.ln())]
print(f'''// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// Written by tests/reference/maths_tables.py; each number rounded once from 40 digits.
#ifndef GN_BASE_MATHS_TABLES_H
#define GN_BASE_MATHS_TABLES_H

// 2^(j/32)
static const double POWERS[32] = {{
{rows(powers, 4)}
}};

// {{1/z, log z}} of the nodes z: {FIRST}/128 to 127/128, then 64/64 to {FIRST - 1}/64
static const double NODES[64][2] = {{
{chr(10).join('  {' + f'{float(pairs[2 * i]).hex()}, {float(pairs[2 * i + 1]).hex()}' + '},' for i in range(64))}
}};

#endif''')
