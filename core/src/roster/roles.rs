//! What a key may do.

use crate::entry::payload::Role;

/// The roles of a key; none of them means it is not on the roster, or grants left nothing in common.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Roles {
    /// Reads, works, checks, signs.
    pub member: bool,
    /// Decides, concedes, hands over, keeps the roster.
    pub lead: bool,
    /// Looks on.
    pub viewer: bool,
}

impl Roles {
    /// From the roles of a device or an invite, in any order.
    #[must_use]
    pub fn of(list: &[Role]) -> Self {
        Self {
            member: list.contains(&Role::Member),
            lead: list.contains(&Role::Lead),
            viewer: list.contains(&Role::Viewer),
        }
    }

    /// Whether the role is among them.
    #[must_use]
    pub const fn has(self, role: Role) -> bool {
        match role {
            Role::Member => self.member,
            Role::Lead => self.lead,
            Role::Viewer => self.viewer,
        }
    }

    /// Whether they let anything be entered.
    #[must_use]
    pub const fn may_enter(self) -> bool {
        self.member || self.lead
    }

    pub(super) const fn or(self, other: Self) -> Self {
        Self {
            member: self.member || other.member,
            lead: self.lead || other.lead,
            viewer: self.viewer || other.viewer,
        }
    }

    pub(super) const fn and(self, other: Self) -> Self {
        Self {
            member: self.member && other.member,
            lead: self.lead && other.lead,
            viewer: self.viewer && other.viewer,
        }
    }
}
