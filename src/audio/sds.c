// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
#include "audio/sds.h"

enum { HEAD_N = 21, PACKET_N = 127, DATA_N = 120 }; // bytes; header and packets begin with F0 7E
enum { BITS_AT = 6, LENGTH_AT = 10 };                // in the header: bits a sample, samples in three bytes of seven bits, lowest first

static int64_t whole_packets(gn_source *source) {
  unsigned char head[2];
  int64_t n = 0;
  while (HEAD_N + (n + 1) * PACKET_N <= source->length && gn_source_read_at(source, HEAD_N + n * PACKET_N, head, 2) == 2 && head[0] == 0xf0 && head[1] == 0x7e) n++;
  return n;
}

// Of a packet that is none libsndfile 1.2.0 complains on standard output, amid a report that is written there; for one that is missing
// it gives the last one's sound again.
bool gn_sds_mend(gn_source *source) {
  unsigned char head[HEAD_N];
  if (gn_source_read_at(source, 0, head, HEAD_N) < HEAD_N || head[0] != 0xf0 || head[1] != 0x7e || head[3] != 0x01) return false;
  const int64_t n_packets = whole_packets(source), bytes_a_sample = head[BITS_AT] <= 14 ? 2 : head[BITS_AT] <= 21 ? 3 : 4;
  const int64_t there = n_packets * (DATA_N / bytes_a_sample), promised = head[LENGTH_AT] | head[LENGTH_AT + 1] << 7 | head[LENGTH_AT + 2] << 14;
  gn_source_cut(source, HEAD_N + n_packets * PACKET_N);
  if (promised <= there) return false;
  const unsigned char length[3] = {there & 0x7f, there >> 7 & 0x7f, there >> 14 & 0x7f};
  return gn_source_patch(source, LENGTH_AT, length, sizeof length) == 0;
}
