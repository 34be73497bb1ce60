// The networks of the delay comparison in ns-3: point-to-point devices, a strict-priority queue in each, frames forwarded along
// the tree of their stream. Usage: net FILE SECONDS SEED MODE
//   MODE schedule: the releases and lower-priority frames that the file lists, once
//        phases:   every stream at its period from a random phase
//        loaded:   the same, with an endless supply of lower-priority frames wherever the file allows them
// FILE, numbers in picoseconds:
//   nodes: count, then latency of each; links: count, then "a b bits/s propagation bytes-of-lower-frame"
//   streams: count, then "bytes period class first-node edge-count (from to).. listener-count listener.."
//   releases: count, then "stream at"; lower frames: count, then "from to at"
#include "ns3/core-module.h"
#include "ns3/network-module.h"
#include "ns3/point-to-point-module.h"

#include <algorithm>
#include <ctime>
#include <deque>
#include <fstream>
#include <iostream>
#include <map>
#include <random>
#include <vector>

using namespace ns3;

constexpr uint32_t kLower = 0xffffffff;
constexpr int kClasses = 9;  // class + 1; the lowest is for frames of no stream

class StreamTag : public Tag {
 public:
  static TypeId GetTypeId() {
    static TypeId id = TypeId("StreamTag").SetParent<Tag>().AddConstructor<StreamTag>();
    return id;
  }
  TypeId GetInstanceTypeId() const override { return GetTypeId(); }
  uint32_t GetSerializedSize() const override { return 13; }
  void Serialize(TagBuffer to) const override {
    to.WriteU32(stream);
    to.WriteU8(level);
    to.WriteU64(release);
  }
  void Deserialize(TagBuffer from) override {
    stream = from.ReadU32();
    level = from.ReadU8();
    release = from.ReadU64();
  }
  void Print(std::ostream &to) const override { to << stream; }

  uint32_t stream = kLower;
  uint8_t level = 0;
  uint64_t release = 0;
};
NS_OBJECT_ENSURE_REGISTERED(StreamTag);

class PriorityQueue : public Queue<Packet> {
 public:
  static TypeId GetTypeId() {
    static TypeId id = TypeId("PriorityQueue").SetParent<Queue<Packet>>().AddConstructor<PriorityQueue>();
    return id;
  }
  bool Enqueue(Ptr<Packet> packet) override {
    StreamTag tag;
    packet->PeekPacketTag(tag);
    waiting[tag.level].push_back(packet);
    return true;
  }
  Ptr<Packet> Dequeue() override {
    for (int level = kClasses - 1; level >= 0; level--) {
      if (!waiting[level].empty()) {
        Ptr<Packet> packet = waiting[level].front();
        waiting[level].pop_front();
        return packet;
      }
    }
    return nullptr;
  }
  Ptr<Packet> Remove() override { return Dequeue(); }
  Ptr<const Packet> Peek() const override {
    for (int level = kClasses - 1; level >= 0; level--) {
      if (!waiting[level].empty()) return waiting[level].front();
    }
    return nullptr;
  }
  std::deque<Ptr<Packet>> waiting[kClasses];
};
NS_OBJECT_ENSURE_REGISTERED(PriorityQueue);

struct Stream {
  uint32_t bytes;
  uint64_t period;
  int level, first;
  std::map<int, std::vector<int>> next;
  std::vector<char> is_listener;
};
using Edge = std::pair<int, int>;

std::vector<Stream> streams;
std::vector<uint64_t> latency;
std::map<Edge, Ptr<NetDevice>> device;
std::map<NetDevice *, int> node_of;
std::map<Edge, uint32_t> lower_bytes;
std::map<Edge, uint64_t> latest;  // by stream and listener
uint64_t hops = 0;

void Forward(int node, Ptr<Packet> packet, uint32_t stream) {
  auto next = streams[stream].next.find(node);
  if (next == streams[stream].next.end()) return;
  for (int to : next->second) {
    auto &out = device[{node, to}];
    out->Send(packet->Copy(), out->GetBroadcast(), 0x0800);
  }
}

bool Receive(Ptr<NetDevice> at, Ptr<const Packet> packet, uint16_t, const Address &) {
  StreamTag tag;
  if (!packet->PeekPacketTag(tag) || tag.stream == kLower) return true;
  int node = node_of[PeekPointer(at)];
  hops++;
  const Stream &stream = streams[tag.stream];
  if (stream.is_listener[node]) {
    uint64_t &seen = latest[{static_cast<int>(tag.stream), node}];
    seen = std::max<uint64_t>(seen, Simulator::Now().GetPicoSeconds() - tag.release);
  }
  if (stream.next.count(node)) {
    Simulator::Schedule(PicoSeconds(latency[node]), &Forward, node, packet->Copy(), tag.stream);
  }
  return true;
}

// The device adds a header of two bytes of its own.
Ptr<Packet> Frame(uint32_t bytes, uint32_t stream, int level) {
  StreamTag tag;
  tag.stream = stream;
  tag.level = level;
  tag.release = Simulator::Now().GetPicoSeconds();
  Ptr<Packet> packet = Create<Packet>(bytes - 2);
  packet->AddPacketTag(tag);
  return packet;
}

void Release(uint32_t stream) {
  Forward(streams[stream].first, Frame(streams[stream].bytes, stream, streams[stream].level), stream);
}

void ReleaseAgain(uint32_t stream) {
  Release(stream);
  Simulator::Schedule(PicoSeconds(streams[stream].period), &ReleaseAgain, stream);
}

void SendLower(int from, int to) {
  auto &out = device[{from, to}];
  out->Send(Frame(lower_bytes[{from, to}], kLower, 0), out->GetBroadcast(), 0x0800);
}

void KeepLowerComing(int from, int to, uint64_t every) {
  auto queue = DynamicCast<PriorityQueue>(DynamicCast<PointToPointNetDevice>(device[{from, to}])->GetQueue());
  if (queue->waiting[0].size() < 2) SendLower(from, to);
  Simulator::Schedule(PicoSeconds(every), &KeepLowerComing, from, to, every);
}

void ReadLinks(std::ifstream &file, NodeContainer &nodes, std::vector<std::pair<Edge, uint64_t>> &lower) {
  int count;
  file >> count;
  for (int i = 0; i < count; i++) {
    int ends[2];
    uint64_t rate, propagation;
    uint32_t bytes;
    file >> ends[0] >> ends[1] >> rate >> propagation >> bytes;
    PointToPointHelper helper;
    helper.SetDeviceAttribute("DataRate", DataRateValue(DataRate(rate)));
    helper.SetDeviceAttribute("Mtu", UintegerValue(9000));
    helper.SetChannelAttribute("Delay", TimeValue(PicoSeconds(propagation)));
    NetDeviceContainer both = helper.Install(nodes.Get(ends[0]), nodes.Get(ends[1]));
    for (int end = 0; end < 2; end++) {
      Edge edge{ends[end], ends[1 - end]};
      Ptr<NetDevice> at = both.Get(end);
      device[edge] = at;
      node_of[PeekPointer(at)] = ends[end];
      DynamicCast<PointToPointNetDevice>(at)->SetQueue(CreateObject<PriorityQueue>());
      at->SetReceiveCallback(MakeCallback(&Receive));
      lower_bytes[edge] = bytes;
      if (bytes) lower.push_back({edge, bytes * 8 * 1000000000000 / rate});
    }
  }
}

void ReadStreams(std::ifstream &file) {
  int count;
  file >> count;
  streams.resize(count);
  for (Stream &stream : streams) {
    int edges, listeners;
    file >> stream.bytes >> stream.period >> stream.level >> stream.first >> edges;
    stream.level += 1;
    stream.is_listener.assign(latency.size(), 0);
    for (int i = 0; i < edges; i++) {
      int from, to;
      file >> from >> to;
      stream.next[from].push_back(to);
    }
    file >> listeners;
    for (int i = 0; i < listeners; i++) {
      int node;
      file >> node;
      stream.is_listener[node] = 1;
    }
  }
}

void FollowSchedule(std::ifstream &file) {
  int count;
  file >> count;
  for (int i = 0; i < count; i++) {
    uint32_t stream;
    uint64_t at;
    file >> stream >> at;
    Simulator::Schedule(PicoSeconds(at), &Release, stream);
  }
  file >> count;
  for (int i = 0; i < count; i++) {
    int from, to;
    uint64_t at;
    file >> from >> to >> at;
    Simulator::Schedule(PicoSeconds(at), &SendLower, from, to);
  }
}

int main(int argc, char **argv) {
  if (argc != 5) {
    std::cerr << "usage: net FILE SECONDS SEED schedule|phases|loaded\n";
    return 2;
  }
  Time::SetResolution(Time::PS);
  std::ifstream file(argv[1]);
  std::string mode = argv[4];
  std::mt19937_64 chance(std::stoull(argv[3]));
  int count;
  file >> count;
  latency.resize(count);
  for (uint64_t &node : latency) file >> node;
  NodeContainer nodes;
  nodes.Create(count);
  std::vector<std::pair<Edge, uint64_t>> lower;
  ReadLinks(file, nodes, lower);
  ReadStreams(file);
  if (mode == "schedule") {
    FollowSchedule(file);
  } else {
    for (uint32_t i = 0; i < streams.size(); i++) {
      Simulator::Schedule(PicoSeconds(chance() % streams[i].period), &ReleaseAgain, i);
    }
    for (auto &[edge, time] : lower) {
      if (mode == "loaded") Simulator::Schedule(PicoSeconds(chance() % time), &KeepLowerComing, edge.first, edge.second, time / 2 + 1);
    }
  }
  Simulator::Stop(Seconds(std::stod(argv[2])));
  std::clock_t start = std::clock();
  Simulator::Run();
  double took = double(std::clock() - start) / CLOCKS_PER_SEC;
  std::cout << "{\"packet_hops\": " << hops << ", \"processor_s\": " << took << ", \"latest_ps\": [";
  bool is_first = true;
  for (auto &[place, delay] : latest) {
    std::cout << (is_first ? "" : ", ") << "[" << place.first << ", " << place.second << ", " << delay << "]";
    is_first = false;
  }
  std::cout << "]}\n";
  Simulator::Destroy();
  return 0;
}
