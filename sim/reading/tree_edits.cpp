#include "sim/reading/tree_edits.hpp"

#include <algorithm>
#include <bit>
#include <cstddef>
#include <span>

namespace sim {
namespace {

Node* child(Node& node, const PathStep& step) {
    if (step.index > 0) {
        const bool there = node.kind == Node::Kind::array && step.index <= node.items.size();
        return there ? &node.items[step.index - 1] : nullptr;
    }
    if (node.kind != Node::Kind::table) return nullptr;
    for (Member& member : node.members)
        if (member.key == step.key) return &member.value;
    return nullptr;
}

/// By key, since tables may be written in any order and hold very many.
std::vector<const Member*> sorted(const Node& table) {
    std::vector<const Member*> members;
    members.reserve(table.members.size());
    for (const Member& member : table.members) members.push_back(&member);
    std::sort(members.begin(), members.end(), [](const Member* a, const Member* b) { return a->key < b->key; });
    return members;
}

bool same_members(const Node& a, const Node& b) {
    if (a.members.size() != b.members.size()) return false;
    const std::vector<const Member*> left = sorted(a), right = sorted(b);
    for (std::size_t i = 0; i < left.size(); ++i)
        if (left[i]->key != right[i]->key || !same_tree(left[i]->value, right[i]->value)) return false;
    return true;
}

}  // namespace

const Node* node_at(const Node& root, const WrittenPath& path) {
    const Node* at = &root;
    for (const PathStep& step : path) {
        if (step.index > 0) {
            if (at->kind != Node::Kind::array || step.index > at->items.size()) return nullptr;
            at = &at->items[step.index - 1];
        } else {
            if (at->kind != Node::Kind::table) return nullptr;
            at = at->find(step.key);
            if (at == nullptr) return nullptr;
        }
    }
    return at;
}

bool put_at(Node& root, const WrittenPath& path, Node value) {
    Node* at = &root;
    for (const PathStep& step : path) {
        Node* next = child(*at, step);
        if (next == nullptr) {
            if (step.index > 0 || at->kind != Node::Kind::table) return false;
            at->members.push_back({step.key, Node{}});
            next = &at->members.back().value;
        }
        at = next;
    }
    *at = std::move(value);
    return true;
}

bool take_at(Node& root, const WrittenPath& path) {
    if (path.empty()) return false;
    Node* at = &root;
    for (const PathStep& step : std::span(path).first(path.size() - 1)) {
        at = child(*at, step);
        if (at == nullptr) return false;
    }
    const PathStep& last = path.back();
    if (child(*at, last) == nullptr) return false;
    if (last.index > 0)
        at->items.erase(at->items.begin() + static_cast<std::ptrdiff_t>(last.index - 1));
    else
        std::erase_if(at->members, [&](const Member& member) { return member.key == last.key; });
    return true;
}

bool same_tree(const Node& a, const Node& b) {
    if (a.kind != b.kind) return false;
    switch (a.kind) {
        case Node::Kind::text: return a.text == b.text;
        case Node::Kind::integer: return a.integer == b.integer && a.by_16 == b.by_16;
        case Node::Kind::number:
            return std::bit_cast<std::uint64_t>(a.number) == std::bit_cast<std::uint64_t>(b.number);
        case Node::Kind::boolean: return a.boolean == b.boolean;
        case Node::Kind::table: return same_members(a, b);
        case Node::Kind::array:
            return std::equal(a.items.begin(), a.items.end(), b.items.begin(), b.items.end(), same_tree);
        case Node::Kind::date_or_time: break;
    }
    return true;
}

}  // namespace sim
