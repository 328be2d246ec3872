#!/usr/bin/env python3
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
"""installed.py SOURCE BUILD MESON CC CXX: installs the build into a folder of its own and uses it from there as a stranger would:
pkg-config, a C and a C++ compiler, Python. CXX may be empty."""

import glob
import os
import re
import shutil
import subprocess
import sys
import tempfile
import xml.dom.minidom

SKIPPED = 77


def fail(sentence):
    sys.exit('FAILED: ' + sentence)


def run(command, env=None, cwd=None):
    done = subprocess.run(command, capture_output=True, text=True, env=env, cwd=cwd, timeout=300)
    if done.returncode:
        fail('%s\n%s%s' % (' '.join(command), done.stdout, done.stderr))
    return done.stdout


class Tree:
    """What was installed."""

    def __init__(self, build, meson, root):
        run([*meson, 'install', '-C', build, '--no-rebuild', '--quiet', '--destdir', root])
        found = glob.glob(root + '/**/girthline.pc', recursive=True)
        if len(found) != 1:
            fail('%d girthline.pc were installed' % len(found))
        self.pc = os.path.dirname(found[0])
        self.lib = os.path.dirname(self.pc)
        self.prefix = glob.glob(root + '/**/include/girthline/girthline.h', recursive=True)[0].split('/include/girthline/')[0]
        self.env = dict(os.environ, PKG_CONFIG_PATH=self.pc, LD_LIBRARY_PATH=self.lib)
        self.env.pop('PKG_CONFIG_SYSROOT_DIR', None)
        for path in glob.glob(self.pc + '/girthline*.pc'):
            self.make_relocatable(path)

    def make_relocatable(self, path):
        """A build folder laid before the option was there states its prefix in full: have it as a new one would."""
        with open(path, encoding='utf-8') as handle:
            text = handle.read()
        up = os.path.relpath(self.prefix, self.pc)
        with open(path, 'w', encoding='utf-8') as handle:
            handle.write(re.sub(r'(?m)^prefix=/.*$', 'prefix=${pcfiledir}/' + up, text))

    def flags(self, *arguments):
        return run(['pkg-config', *arguments], self.env).split()


def check_files(tree, source):
    wanted = ['bin/girthline', 'share/doc/girthline/examples/analyse_file.c', 'share/doc/girthline/examples/intervals.py', 'share/girthline/samples/maren-at-rest.wav']
    wanted += ['share/girthline/schema/%s.schema.json' % name for name in ('comparison', 'exam', 'report', 'score', 'visits')]
    wanted += ['include/girthline/' + os.path.basename(path) for path in glob.glob(source + '/include/girthline/*.h')]
    for path in wanted:
        if not os.path.isfile(os.path.join(tree.prefix, path)):
            fail(path + ' is not installed')
    for name in ('libgirthline', 'libgirthline-report'):
        for end in ('.a', '.so', '.so.0'):
            if not os.path.exists(os.path.join(tree.lib, name + end)):
                fail(name + end + ' is not installed')
        dynamic = run(['readelf', '-dW', os.path.join(tree.lib, name + '.so')])
        if 'soname: [%s.so.0]' % name not in dynamic:
            fail(name + ' has no versioned soname')
        if re.search(r'RPATH|RUNPATH', dynamic):
            fail(name + ' has a search path of the build folder')
    others = glob.glob(tree.lib + '/lib*')
    if any(not os.path.basename(path).startswith(('libgirthline.', 'libgirthline-report.')) for path in others):
        fail('more libraries than two are installed: %s' % others)


def check_version(source, version):
    """The version stands in meson.build, in version.h (a C++ program is asked) and in the package's changelog."""
    with open(os.path.join(source, 'docs/packaging/debian/changelog'), encoding='utf-8') as handle:
        if not handle.readline().startswith('girthline (%s)' % version):
            fail('the package has another version than %s' % version)


def check_needs(tree):
    """The core needs libsndfile, kissfft, libm and the C library, and nothing besides."""
    needed = re.findall(r'NEEDED.*\[([^\]]+)\]', run(['readelf', '-dW', tree.lib + '/libgirthline.so']))
    extra = [name for name in needed if not name.startswith(('libsndfile.', 'libkissfft-float.', 'libm.', 'libc.', 'libpthread.', 'ld-linux'))]
    if extra:
        fail('the core library needs %s' % extra)


def names_of(path, *options):
    out = run(['nm', '--defined-only', *options, path])
    found = {line.split()[-1].split('@')[0] for line in out.splitlines() if len(line.split()) == 3}
    return {name for name in found if not name.startswith('GIRTHLINE_')}  # the symbol version's own


def declared(tree):
    names = set()
    for path in glob.glob(tree.prefix + '/include/girthline/*.h'):
        with open(path, encoding='utf-8') as handle:
            text = re.sub(r'//.*', '', handle.read())
        names |= set(re.findall(r'\b(girthline_\w+)\s*\(', text))
    return names


def check_names(tree):
    """Each name that a header declares is in one library, and no other name is in any."""
    shared = [names_of(tree.lib + '/lib%s.so' % n, '-D') for n in ('girthline', 'girthline-report')]
    static = [names_of(tree.lib + '/lib%s.a' % n, '-g') for n in ('girthline', 'girthline-report')]
    if shared != static:
        fail('shared and static libraries differ: %s' % sorted(shared[0] ^ static[0] | shared[1] ^ static[1]))
    if shared[0] & shared[1]:
        fail('in both libraries: %s' % sorted(shared[0] & shared[1]))
    if shared[0] | shared[1] != declared(tree):
        fail('declared or shown, but not both: %s' % sorted((shared[0] | shared[1]) ^ declared(tree)))
    print('%d public names, each in one library' % len(declared(tree)))


def without_missing(cc, flags):
    """Some systems' .pc files name libraries that their packages do not bring; the shared library that needs them finds them itself."""
    missing = set()
    for flag in set(flags):
        name = flag[2:]
        if flag.startswith('-l') and not name.startswith('girthline') and not any(
                '/' in run([*cc, '-print-file-name=lib%s%s' % (name, end)]) for end in ('.so', '.a')):
            missing.add(flag)
    if missing:
        print('named by pkg-config --static and not here: %s' % ' '.join(sorted(missing)))
    return [flag for flag in flags if flag not in missing]


def check_program(tree, source, cc, out, static):
    """write_report outside the tree, built with what pkg-config says alone; its JSON is the program's."""
    flags = tree.flags(*(['--static'] if static else []), '--cflags', '--libs', 'girthline-report')
    if static:
        flags = without_missing(cc, flags)
    example = os.path.join(tree.prefix, 'share/doc/girthline/examples/write_report.c')
    program = os.path.join(out, 'write_report')
    run([*cc, '-std=c11', '-Wall', '-Wextra', '-Werror', example, *flags, '-o', program], tree.env, out)
    uses = 'libgirthline' in run(['readelf', '-dW', program])
    if uses == static:
        fail('the program is linked the wrong way')
    env = {k: v for k, v in tree.env.items() if k != 'LD_LIBRARY_PATH'} if static else tree.env
    recording = os.path.join(source, 'samples/maren-at-rest.wav')
    run([program, recording, out + '/a.json', out + '/a.html'], env, out)
    want = run([tree.prefix + '/bin/girthline', 'report', recording, '--json', '-'], tree.env)
    with open(out + '/a.json', encoding='utf-8') as handle:
        if handle.read() != want:
            fail('the program outside the tree writes another report than girthline')
    print('a C program outside the tree, %s' % ('static' if static else 'shared'))


CPLUSPLUS = r'''
#include <cstdio>
#include <girthline/girthline.h>
#include <girthline/report.h>
int main() {
  girthline_error error = {};
  girthline_result *result = nullptr;
  const girthline_status status = girthline_analyse_file("nowhere.wav", nullptr, &result, &error);
  girthline_text_free(nullptr);
  std::printf("%s %s %d\n", girthline_version(), GIRTHLINE_VERSION, status == GIRTHLINE_CANNOT_READ);
  return 0;
}
'''


def check_cplusplus(tree, cxx, out, version):
    with open(out + '/use.cpp', 'w', encoding='utf-8') as handle:
        handle.write(CPLUSPLUS)
    run([*cxx, '-std=c++17', '-Wall', '-Wextra', '-Wpedantic', '-Werror', 'use.cpp', *tree.flags('--cflags', '--libs', 'girthline-report'), '-o', 'use'], tree.env, out)
    said = run([out + '/use'], tree.env).split()
    if said != [version, version, '1']:
        fail('a C++ program has %s' % said)
    print('a C++ program outside the tree, version %s' % version)


def check_python(tree, source, out):
    """The picture has one dot for each interval that was used."""
    script = os.path.join(tree.prefix, 'share/doc/girthline/examples/intervals.py')
    recording = os.path.join(source, 'samples/maren-at-rest.wav')
    said = run([sys.executable, script, recording, out + '/intervals.svg'], tree.env)
    n = int(said.split()[0])
    picture = xml.dom.minidom.parse(out + '/intervals.svg')
    if n < 10 or len(picture.getElementsByTagName('circle')) != n:
        fail('the picture made from Python does not show the %d intervals' % n)
    if subprocess.run([sys.executable, '-c', 'import matplotlib'], capture_output=True).returncode == 0:
        run([sys.executable, script, recording, out + '/intervals.png'], tree.env)
        with open(out + '/intervals.png', 'rb') as handle:
            if handle.read(8) != b'\x89PNG\r\n\x1a\n':
                fail('intervals.png is no PNG')
    noisy = subprocess.run([sys.executable, script, source + '/samples/quill-noisy.wav', out + '/x.svg'], capture_output=True, text=True, env=tree.env)
    if noisy.returncode != 1 or not noisy.stderr.strip().endswith('.') or os.path.exists(out + '/x.svg'):
        fail('from Python, a recording too noisy to read gets no sentence, or a picture: ' + noisy.stderr)
    missing = subprocess.run([sys.executable, script, 'nowhere.wav', out + '/x.svg'], capture_output=True, text=True, env=tree.env)
    if missing.returncode != 1 or 'nowhere.wav' not in missing.stderr:
        fail('from Python, a missing recording is not named')
    print('%d intervals drawn from Python' % n)


COMMA = '''
import json, locale, sys
sys.path.insert(0, sys.argv[1])
import intervals
before = intervals.analyse(sys.argv[2])
locale.setlocale(locale.LC_ALL, "de_DE.UTF-8")
assert locale.str(1.5) == "1,5"
print("the same" if intervals.analyse(sys.argv[2]) == before else "another")
assert locale.str(1.5) == "1,5"
'''


def check_comma(tree, source, out):
    """A program that has set a locale with a decimal comma gets the same report to the last character, and keeps its locale."""
    if not shutil.which('localedef') or subprocess.run(['localedef', '-i', 'de_DE', '-f', 'UTF-8', out + '/de_DE.UTF-8'], capture_output=True).returncode:
        print('a locale with a decimal comma cannot be made here')
        return
    folder = os.path.join(tree.prefix, 'share/doc/girthline/examples')
    env = {k: v for k, v in tree.env.items() if k != 'LC_ALL'}
    said = run([sys.executable, '-c', COMMA, folder, source + '/samples/isolde-murmur.wav'], dict(env, LOCPATH=out))
    if said.strip() != 'the same':
        fail('a locale with a decimal comma changes the report')
    print('the same report under a decimal comma')


def main():
    source, build, meson, cc, cxx = sys.argv[1], sys.argv[2], *(a.split('\n') for a in sys.argv[3:6])
    for tool in ('pkg-config', 'readelf', 'nm'):
        if not shutil.which(tool):
            print('skipped: %s is not here' % tool)
            return SKIPPED
    with tempfile.TemporaryDirectory() as scratch:
        out = os.path.join(scratch, 'out')
        os.mkdir(out)
        tree = Tree(build, meson, os.path.join(scratch, 'root'))
        version = tree.flags('--modversion', 'girthline')[0]
        check_version(source, version)
        check_files(tree, source)
        check_needs(tree)
        check_names(tree)
        check_program(tree, source, cc, out, False)
        if cxx != ['']:
            check_cplusplus(tree, cxx, out, version)
        check_python(tree, source, out)
        check_comma(tree, source, out)
        for path in glob.glob(tree.lib + '/*.so*'):
            os.remove(path)
        check_program(tree, source, cc, out, True)
    return 0


if __name__ == '__main__':
    sys.exit(main())
