//! The kinds of entry, one row each: number, name, document, who may make it.

/// Which document a kind belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scope {
    /// The workshop's document: people, devices, instruments, list of records.
    Workshop,
    /// The record of one engine.
    Record,
    /// Either.
    Both,
}

/// Who may make an entry that counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Needs {
    /// The root key in a workshop; a lead in a record.
    Founder,
    /// A lead, or the root key.
    Lead,
    /// A member; a lead without the member role may not.
    Member,
    /// A member for entries of their own person, a lead for anybody's.
    MemberOwnElseLead,
    /// A member or a lead.
    MemberOrLead,
}

/// One row of the table of kinds.
#[derive(Clone, Copy, Debug)]
pub struct KindRow {
    /// The kind.
    pub kind: Kind,
    /// Its name on the command line and in reports.
    pub name: &'static str,
    /// Where it belongs.
    pub scope: Scope,
    /// Who may make it.
    pub needs: Needs,
    /// Whether it states work, so that a void can reach it.
    pub work: bool,
}

macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident = $code:literal, $name:literal, $scope:ident, $needs:ident, $work:literal;)*) => {
        /// Kind of an entry; the number is stored and never reused.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[repr(u32)]
        pub enum Kind { $($(#[$doc])* $kind = $code,)* }

        /// The table of kinds, in order of number.
        pub const KINDS: &[KindRow] = &[$(KindRow {
            kind: Kind::$kind,
            name: $name,
            scope: Scope::$scope,
            needs: Needs::$needs,
            work: $work,
        },)*];

        impl Kind {
            /// The kind of a stored number, if this version knows it.
            #[must_use]
            pub const fn from_code(code: u32) -> Option<Self> {
                match code { $($code => Some(Self::$kind),)* _ => None }
            }

            /// Its row in the table.
            #[must_use]
            pub const fn row(self) -> KindRow {
                match self { $(Self::$kind => KindRow {
                    kind: Self::$kind, name: $name, scope: Scope::$scope, needs: Needs::$needs, work: $work,
                },)* }
            }
        }
    };
}

kinds! {
    /// First entry of a document.
    Founding = 1, "founding", Both, Founder, false;
    /// A person of the workshop.
    Person = 2, "person", Workshop, Lead, false;
    /// A key given to a person, with its roles.
    Device = 3, "device", Workshop, Lead, false;
    /// An offer to join.
    Invite = 4, "invite", Workshop, Lead, false;
    /// The end of a key, with the last of its entries that count.
    Removal = 5, "removal", Workshop, Lead, false;
    /// Entries that count although a removal cut them.
    Admit = 6, "admit", Workshop, Lead, false;
    /// An instrument of the shop.
    Instrument = 7, "instrument", Workshop, MemberOrLead, false;
    /// An engine definition.
    Definition = 8, "definition", Both, Lead, false;
    /// A record of this workshop.
    RecordListed = 9, "record-listed", Workshop, Lead, false;
    /// One value, read.
    Reading = 32, "reading", Record, Member, true;
    /// Work that changes a part.
    Operation = 33, "operation", Record, Member, true;
    /// A part that came in.
    PartReceived = 34, "part-received", Record, Member, true;
    /// A part put in a place, or taken out.
    Fitting = 35, "fitting", Record, Member, true;
    /// One act on a group of fasteners.
    Tightening = 36, "tightening", Record, Member, true;
    /// A check that is passed or not.
    Check = 37, "check", Record, Member, true;
    /// A signature over the evidence of a step.
    SignOff = 38, "sign-off", Record, MemberOrLead, true;
    /// An entry withdrawn.
    Void = 39, "void", Record, MemberOwnElseLead, false;
    /// A finding accepted, with the reason.
    Concession = 40, "concession", Record, Lead, false;
    /// A limit set anew.
    LimitChange = 41, "limit-change", Record, Lead, false;
    /// What the lead decided.
    Decision = 42, "decision", Record, Lead, false;
    /// The customer's word on a decision.
    Approval = 43, "approval", Record, Lead, false;
    /// Parts out to somebody, or back.
    Custody = 44, "custody", Record, Member, true;
    /// A step given to a person.
    Assignment = 45, "assignment", Record, Lead, false;
    /// Which of two entries came first.
    Order = 46, "order", Record, MemberOrLead, false;
    /// A gauge tried on its master.
    GaugeCheck = 47, "gauge-check", Record, Member, true;
    /// Work stopped, with what was found.
    Stop = 48, "stop", Record, Member, true;
    /// Work taken up again.
    Resume = 49, "resume", Record, Member, true;
    /// Words.
    Note = 50, "note", Record, MemberOrLead, true;
    /// A picture.
    Photo = 51, "photo", Record, MemberOrLead, true;
    /// The engine handed over.
    HandOver = 52, "hand-over", Record, Lead, false;
    /// The record opened again after a hand-over.
    Reopen = 53, "reopen", Record, Lead, false;
}

impl Kind {
    /// The stored number.
    #[must_use]
    pub const fn code(self) -> u32 {
        self as u32
    }

    /// Name in reports, such as `sign-off`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        self.row().name
    }
}
