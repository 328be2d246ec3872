#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""The intervals of a recording as a picture, through the C libraries: python3 intervals.py RECORDING OUT.svg|OUT.png

Nothing but the two shared libraries is needed for an SVG; a PNG takes matplotlib.
"""

import ctypes
import json
import os
import sys


class Error(ctypes.Structure):
    """girthline_error of girthline/status.h"""
    _fields_ = [('status', ctypes.c_int), ('stage', ctypes.c_char * 24), ('text', ctypes.c_char * 1000)]


class ReportInput(ctypes.Structure):
    """girthline_report_input of girthline/report.h"""
    _fields_ = [('result', ctypes.c_void_p), ('name', ctypes.c_char_p), ('path', ctypes.c_char_p), ('data', ctypes.c_void_p),
                ('n_bytes', ctypes.c_size_t), ('content_hash', ctypes.c_char_p)]


def load():
    core = ctypes.CDLL('libgirthline.so.0')
    report = ctypes.CDLL('libgirthline-report.so.0')
    core.girthline_analyse_file.argtypes = [ctypes.c_char_p, ctypes.c_void_p, ctypes.POINTER(ctypes.c_void_p), ctypes.POINTER(Error)]
    core.girthline_result_free.argtypes = [ctypes.c_void_p]
    core.girthline_result_free.restype = None
    report.girthline_content_hash_path.argtypes = [ctypes.c_char_p, ctypes.c_char_p, ctypes.POINTER(Error)]
    report.girthline_report_json.argtypes = [ctypes.POINTER(ReportInput), ctypes.c_size_t, ctypes.POINTER(Error)]
    report.girthline_report_json.restype = ctypes.c_void_p  # kept as an address, so that it can be freed
    report.girthline_text_free.argtypes = [ctypes.c_void_p]
    report.girthline_text_free.restype = None
    return core, report


def analyse(path):
    """The report of a recording (girthline.report.v1) as a dictionary."""
    core, report = load()
    error, result, content_hash = Error(), ctypes.c_void_p(), ctypes.create_string_buffer(48)
    name = os.fsencode(path)
    if core.girthline_analyse_file(name, None, ctypes.byref(result), ctypes.byref(error)):
        raise OSError(error.text.decode('utf-8', 'replace'))
    try:
        if report.girthline_content_hash_path(name, content_hash, ctypes.byref(error)):
            raise OSError(error.text.decode('utf-8', 'replace'))
        given = ReportInput(result=result, name=name, path=name, content_hash=content_hash.value)
        text = report.girthline_report_json(ctypes.byref(given), 1, ctypes.byref(error))
        if not text:
            raise MemoryError(error.text.decode('utf-8', 'replace'))
        try:
            return json.loads(ctypes.string_at(text))
        finally:
            report.girthline_text_free(text)
    finally:
        core.girthline_result_free(result)


def svg(points, caution):
    """Dots of interval against time: as wide as the recording's minutes ask for, from zero up."""
    width, height, left, below = 900, 360, 60, 50
    end_s = max(t for t, _ in points)
    top_s = 1.1 * max(d for _, d in points)
    x = [left + (width - left - 20) * t / end_s for t, _ in points]
    y = [(height - below) * (1 - d / top_s) for _, d in points]
    lines = ['<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" font-family="sans-serif" font-size="13">' % (width, height + 20),
             '<rect width="%d" height="%d" fill="white"/>' % (width, height + 20),
             '<path d="M%d 0V%dH%d" fill="none" stroke="black"/>' % (left, height - below, width - 20)]
    for k in range(int(top_s / 0.5) + 1):
        lines.append('<text x="%d" y="%.1f" text-anchor="end">%.1f s</text>' % (left - 6, (height - below) * (1 - 0.5 * k / top_s) + 4, 0.5 * k))
    for k in range(0, int(end_s) + 1, 10 if end_s < 200 else 60):
        lines.append('<text x="%.1f" y="%d" text-anchor="middle">%d s</text>' % (left + (width - left - 20) * k / end_s, height - below + 18, k))
    lines += ['<circle cx="%.1f" cy="%.1f" r="3" fill="#205080"/>' % point for point in zip(x, y)]
    lines.append('<text x="%d" y="%d">S1-to-S1 interval against time. Heart-sound intervals are not ECG intervals.</text>' % (left, height - 8))
    lines.append('<desc>%s</desc>' % caution.replace('&', '&amp;').replace('<', '&lt;'))
    return '\n'.join(lines + ['</svg>', ''])


def png(points, caution, out):
    import matplotlib
    matplotlib.use('Agg')
    from matplotlib import pyplot
    figure, axes = pyplot.subplots(figsize=(9, 4))
    axes.plot([t for t, _ in points], [d for _, d in points], 'o')
    axes.set(xlabel='time, s', ylabel='S1-to-S1 interval, s', xlim=(0, None), ylim=(0, None), title='Heart-sound intervals are not ECG intervals')
    figure.savefig(out, metadata={'Description': caution})


def main():
    if len(sys.argv) != 3:
        sys.exit('usage: intervals.py RECORDING OUT.svg|OUT.png')
    recording, out = sys.argv[1:]
    try:
        found = analyse(recording)
    except OSError as error:
        sys.exit(str(error))
    points = [(i['end_s'], i['end_s'] - i['start_s']) for i in found['rhythm']['intervals'] if i['used']]
    if not points:
        sys.exit(found['undetermined'].get('/rate/bpm', 'no interval was found'))
    rate = found['rate']['bpm']
    print('%d intervals, %s\n%s' % (len(points), 'rate not determined' if rate is None else '%.1f a minute' % rate, found['caution']))
    if out.endswith('.png'):
        png(points, found['caution'], out)
    else:
        with open(out, 'w', encoding='utf-8') as handle:
            handle.write(svg(points, found['caution']))


if __name__ == '__main__':
    main()
