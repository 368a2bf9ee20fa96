//! Knots of a directed graph.

/// The strongly connected components of a graph, each with its members in
/// ascending order; a component comes after all those it leads to.
///
/// R. Tarjan, *SIAM J. Comput.* 1 (1972) 146, without recursion: a chain of
/// 100,000 rows must not overflow the stack.
pub(super) fn components(edges: &[Vec<usize>]) -> Vec<Vec<usize>> {
    const UNSEEN: usize = usize::MAX;
    let mut order = vec![UNSEEN; edges.len()];
    let mut low = vec![0; edges.len()];
    let mut open = vec![false; edges.len()];
    let (mut stack, mut found) = (Vec::new(), Vec::new());
    let mut count = 0;
    for root in 0..edges.len() {
        if order[root] != UNSEEN {
            continue;
        }
        // The walk: a node and the edge it looks at next.
        let mut walk = vec![(root, 0)];
        while let Some((node, edge)) = walk.pop() {
            if edge == 0 {
                order[node] = count;
                low[node] = count;
                count += 1;
                stack.push(node);
                open[node] = true;
            } else {
                let child = edges[node][edge - 1];
                if open[child] {
                    low[node] = low[node].min(low[child]);
                }
            }
            if let Some(&next) = edges[node].get(edge) {
                walk.push((node, edge + 1));
                if order[next] == UNSEEN {
                    walk.push((next, 0));
                }
                continue;
            }
            if low[node] == order[node] {
                found.push(close(&mut stack, &mut open, node));
            }
        }
    }
    found
}

fn close(stack: &mut Vec<usize>, open: &mut [bool], root: usize) -> Vec<usize> {
    let from = stack.iter().rposition(|node| *node == root).unwrap_or(0);
    let mut members = stack.split_off(from);
    for member in &members {
        open[*member] = false;
    }
    members.sort_unstable();
    members
}

/// One way round inside a component, from its first member back to it; none if
/// it is a single node without an edge to itself.
pub(super) fn round(edges: &[Vec<usize>], component: &[usize]) -> Option<Vec<usize>> {
    let first = *component.first()?;
    let inside = |node: usize| component.binary_search(&node).is_ok();
    // Breadth first, so that the way is a shortest one.
    let mut from: std::collections::BTreeMap<usize, usize> = std::collections::BTreeMap::new();
    let mut queue = std::collections::VecDeque::from([first]);
    while let Some(node) = queue.pop_front() {
        for &next in edges[node].iter().filter(|next| inside(**next)) {
            if next == first {
                let mut way = vec![first, node];
                let mut at = node;
                while at != first {
                    at = *from.get(&at)?;
                    way.push(at);
                }
                if node == first {
                    way.pop();
                }
                way.reverse();
                if way.len() == 1 {
                    way.push(first);
                }
                return Some(way);
            }
            if let std::collections::btree_map::Entry::Vacant(entry) = from.entry(next) {
                entry.insert(node);
                queue.push_back(next);
            }
        }
    }
    None
}

/// Every node that can be reached from the first ones, these included.
pub(super) fn reached(edges: &[Vec<usize>], first: impl IntoIterator<Item = usize>) -> Vec<bool> {
    let mut seen = vec![false; edges.len()];
    let mut left: Vec<usize> = first.into_iter().collect();
    while let Some(node) = left.pop() {
        if !std::mem::replace(&mut seen[node], true) {
            left.extend(&edges[node]);
        }
    }
    seen
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_chain_has_no_way_round_and_a_loop_has_one() {
        let edges = vec![vec![1], vec![2, 1], vec![3], vec![2], vec![]];
        assert_eq!(components(&edges), [vec![2, 3], vec![1], vec![0], vec![4]]);
        assert_eq!(round(&edges, &[2, 3]), Some(vec![2, 3, 2]));
        assert_eq!(round(&edges, &[1]), Some(vec![1, 1]));
        assert_eq!(round(&edges, &[0]), None);
    }

    #[test]
    fn a_chain_of_a_hundred_thousand_rows_is_walked() {
        let edges: Vec<Vec<usize>> = (1..100_000)
            .map(|next| vec![next])
            .chain([vec![]])
            .collect();
        assert_eq!(components(&edges).len(), 100_000);
    }

    proptest! {
        /// Two nodes are in one component when each reaches the other.
        #[test]
        fn members_reach_each_other(pairs in proptest::collection::vec((0..12_usize, 0..12_usize), 0..30)) {
            let mut edges = vec![Vec::new(); 12];
            for (from, to) in pairs {
                edges[from].push(to);
            }
            let mut component = [0; 12];
            for (index, members) in components(&edges).iter().enumerate() {
                for member in members {
                    component[*member] = index;
                }
            }
            for a in 0..12 {
                for b in 0..12 {
                    let both = reached(&edges, [a])[b] && reached(&edges, [b])[a];
                    prop_assert_eq!(component[a] == component[b], both);
                }
            }
        }
    }
}
