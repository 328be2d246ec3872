#!/bin/sh
# SPDX-FileCopyrightText: 2026 The girthline authors
# SPDX-License-Identifier: MIT
# The job array of samples/cluster on a Slurm of its own: one controller and two nodes on this machine, a key of their own, all in a
# folder that goes away again. One task is killed in its midst and requeued. As root (slurmd asks for it). Then the GNU parallel line, where parallel is installed.
# usage: slurm.sh PROGRAM     ends 77 (skipped) where Slurm is not installed or cannot run
set -u
[ $# -eq 1 ] || { echo "usage: slurm.sh PROGRAM" >&2; exit 2; }
program=$(realpath "$1")
root=$(cd "$(dirname "$0")/../.." && pwd)
for needed in slurmctld slurmd sbatch squeue sinfo munged; do
  command -v $needed >/dev/null || { echo "skipped: $needed is missing (Debian: slurmctld slurmd slurm-client slurm-wlm-basic-plugins munge)"; exit 77; }
done
[ "$(id -u)" -eq 0 ] || { echo "skipped: slurmd runs as root only"; exit 77; }

dir=$(mktemp -d) || exit 2
pids=
finish() {
  code=$?
  # shellcheck disable=SC2086 # a list of numbers
  [ -z "$pids" ] || kill $pids 2>/dev/null
  [ "$code" -eq 0 ] || [ "$code" -eq 77 ] || tail -n 20 "$dir"/*.log "$dir"/slurm-*.out 2>/dev/null
  sleep 1
  rm -rf "$dir"
  exit "$code"
}
trap finish EXIT
trap 'exit 130' INT TERM
cd "$dir" || exit 2
chmod 755 "$dir"

# until SECONDS COMMAND...: true as soon as the command is.
until_() {
  left_=$1
  shift
  until "$@"; do
    left_=$((left_ - 1))
    [ "$left_" -gt 0 ] || return 1
    sleep 1
  done
}

mkdir -m 700 key
dd if=/dev/urandom of=key/munge.key bs=128 count=1 2>/dev/null && chmod 400 key/munge.key
munged --foreground --force --key-file="$dir/key/munge.key" --socket="$dir/munge.socket" --pid-file="$dir/munge.pid" --log-file="$dir/munge.log" \
  --seed-file="$dir/munge.seed" >/dev/null 2>&1 &
pids=$!
until_ 10 test -S munge.socket || { echo "skipped: munged does not start here"; exit 77; }

host=$(uname -n)
cat >slurm.conf <<END
ClusterName=tarnhollow
SlurmctldHost=$host(127.0.0.1)
SlurmUser=root
SlurmdUser=root
AuthInfo=socket=$dir/munge.socket,cred_expire=10
SlurmctldPort=16817
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
JobAcctGatherType=jobacct_gather/none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU
StateSaveLocation=$dir/state
SlurmctldPidFile=$dir/slurmctld.pid
SlurmdSpoolDir=$dir/spool-%n
SlurmdPidFile=$dir/slurmd-%n.pid
MailProg=/bin/true
NodeName=n1 NodeHostname=$host NodeAddr=127.0.0.1 Port=17001 CPUs=2 RealMemory=500
NodeName=n2 NodeHostname=$host NodeAddr=127.0.0.1 Port=17002 CPUs=2 RealMemory=500
PartitionName=yard Nodes=n1,n2 Default=YES
END
mkdir state spool-n1 spool-n2
export SLURM_CONF="$dir/slurm.conf"
slurmctld -D -f "$SLURM_CONF" -c >controller.log 2>&1 &
pids="$pids $!"
for node in n1 n2; do
  slurmd -D -f "$SLURM_CONF" -N $node >$node.log 2>&1 &
  pids="$pids $!"
done
idle() { [ "$(sinfo -h -t idle -o %D 2>/dev/null)" = 2 ]; }
until_ 40 idle || { echo "skipped: two Slurm nodes do not come up here"; tail -n 3 controller.log n1.log; exit 77; }

mkdir set
for i in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20; do
  "$program" synth set/r$i.wav --seconds 30 --seed $i --rate-hz 2000 --quiet || exit 1
done
"$program" batch set --out whole --quiet || exit 1
# The first time, the second task comes as far as its first row, and no further.
cat >halting <<END
#!/bin/sh
case " \$* " in *" 2/4 "*)
  [ -e "$dir/halted" ] && exec "$program" "\$@"
  "$program" "\$@" &
  child=\$!
  until grep -aq '^R ' "$dir"/tables/.girthline-batch*2-of-4*journal 2>/dev/null || ! kill -0 \$child 2>/dev/null; do sleep 0.01; done
  kill -KILL \$child 2>/dev/null
  : >"$dir/halted"
  exec sleep 600
esac
exec "$program" "\$@"
END
chmod 755 halting
job=$(sbatch --parsable --array=1-4 --mem=100M --cpus-per-task=1 --export=ALL,INPUT="$dir/set",OUT="$dir/tables",GIRTHLINE="$dir/halting",OPTIONS=--quiet \
  "$root/samples/cluster/girthline.slurm") || exit 1
until_ 120 test -e halted || { echo "the second task does not begin"; exit 1; }
[ -z "$(ls tables/recordings.2-of-4.csv 2>/dev/null)" ] || echo "note: the second shard had ended before it was killed"
scontrol requeue "${job}_2" || exit 1
requeued() { scontrol -o show job "${job}_2" | grep -q ' Restarts=1 '; }
until_ 60 requeued || { echo "the killed task is not requeued"; exit 1; }
done_() { [ -z "$(squeue -h 2>/dev/null)" ]; }
until_ 600 done_ || { echo "the job array does not end"; exit 1; }
nodes=$(scontrol -o show job | grep -o ' NodeList=n[12]' | sort -u | wc -l)
[ "$nodes" -eq 2 ] || { echo "the tasks ran on $nodes of two nodes"; exit 1; }
"$program" batch --merge tables --quiet || exit 1
for table in recordings.csv beats.csv reports.ndjson index.html batch.json; do
  cmp whole/$table tables/$table || exit 1
done
echo "Slurm: four tasks on two nodes, one killed and requeued, joined to what one run writes"

if command -v parallel >/dev/null; then
  seq 3 | parallel --will-cite "$program" batch set --out side --quiet --shard '{}/3' || exit 1
  "$program" batch --merge side --quiet && cmp whole/recordings.csv side/recordings.csv && cmp whole/index.html side/index.html || exit 1
  echo "GNU parallel: three shards, joined to what one run writes"
fi
exit 0
